//! A time zone of the IANA database, by its name.
//!
//! The zone's rules are those compiled into the program ([`TimeZone::DATABASE_RELEASE`]); a
//! change of law after that release needs a newer build.

use crate::fault::{Fault, Faults};
use chrono::{DateTime, NaiveDateTime, Utc};
use std::fmt;

/// A time zone of the IANA database.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TimeZone(chrono_tz::Tz);

impl TimeZone {
    /// The release of the IANA database that is compiled in.
    pub const DATABASE_RELEASE: &'static str = chrono_tz::IANA_TZDB_VERSION;

    /// Universal time.
    pub const UTC: Self = Self(chrono_tz::UTC);

    /// Takes a zone by its IANA name, spelt exactly: `Europe/Lisbon`.
    ///
    /// # Errors
    /// A fault of the field `time_zone` when the database has no such name. Where only upper and
    /// lower case differ, the remedy gives the right spelling.
    pub fn parse(name: &str) -> Result<Self, Faults> {
        name.parse().map(Self).map_err(|_no_zone: chrono_tz::ParseError| {
            let near =
                chrono_tz::TZ_VARIANTS.iter().find(|zone| zone.name().eq_ignore_ascii_case(name));
            let remedy = match near {
                Some(zone) => format!("write \"{}\"", zone.name()),
                None => "use an IANA name such as \"Europe/Lisbon\" or \"America/Chicago\"".into(),
            };
            let limit =
                format!("name a zone of the IANA database (release {})", Self::DATABASE_RELEASE);
            Fault::new("time_zone", format!("\"{name}\""), limit, remedy).into()
        })
    }

    /// What a wall clock in this zone shows at `instant`.
    pub fn local(self, instant: DateTime<Utc>) -> NaiveDateTime {
        instant.with_timezone(&self.0).naive_local()
    }

    /// The IANA name.
    pub fn name(self) -> &'static str {
        self.0.name()
    }

    pub(super) fn rules(self) -> chrono_tz::Tz {
        self.0
    }
}

impl fmt::Display for TimeZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn a_zone_keeps_the_name_it_was_given() {
        assert_eq!(
            TimeZone::parse("America/Argentina/Ushuaia").unwrap().name(),
            "America/Argentina/Ushuaia"
        );
    }

    #[rstest]
    #[case::no_such_city("Europe/Atlantis", "IANA name such as")]
    #[case::empty("", "IANA name such as")]
    #[case::wrong_case("europe/lisbon", "write \"Europe/Lisbon\"")]
    #[case::offset("+02:00", "IANA name such as")]
    fn an_unknown_zone_is_refused_with_a_remedy(#[case] name: &str, #[case] remedy: &str) {
        let faults = TimeZone::parse(name).unwrap_err();
        let [fault] = faults.list() else { panic!("one fault expected: {faults}") };
        assert_eq!(fault.field, "time_zone");
        assert!(fault.remedy.contains(remedy), "{fault}");
    }
}
