//! Sentences about what a survey shows, or lacks, and which measurement would decide.

use super::{Detail, Quantity};
use crate::axes::PointFloor;
use crate::survey::{LightGrid, MorePlaces};
use std::fmt;

/// How many places are named in a sentence; the rest is counted.
const PLACES_NAMED: usize = 6;

impl Detail {
    /// Whether the verdict is open because the value lies within its guard band.
    pub(super) fn is_about_a_guard_band(&self) -> bool {
        matches!(
            self,
            Self::TooUncertain { .. }
                | Self::HeightsTooUncertain { .. }
                | Self::HeightsScatter { .. }
                | Self::ResidualTooUncertain { .. }
        )
    }

    /// What the survey shows or lacks; a guard band is told by the finding.
    pub(super) fn write_of_the_survey(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::HeightsScatter { scatter_mm, .. } => {
                write!(
                    f,
                    "the heights scatter by {} about their plane, ",
                    Quantity::mm(*scatter_mm)
                )
            }
            Self::LeftToCompensation => f.write_str("which is left to the setting of the target"),
            Self::ResidualTooUncertain { at, .. } => write!(f, "most of all at {}, ", named(at)),
            Self::Compensated { .. } => f.write_str("which the stand reaches"),
            Self::BeyondStand { raise_mm } => write!(
                f,
                "so the stand does not reach: one would have to {}",
                set_target(*raise_mm)
            ),
            Self::VehicleFloorNotSurveyed => {
                f.write_str("but the floor under a tyre or under the target was not surveyed")
            }
            Self::SurveyOfOtherBay { bay } => write!(f, "but the survey is that of {bay}"),
            Self::SurveyNotYetTaken { taken_on } => {
                write!(f, "but the survey was taken later, on {taken_on}")
            }
            Self::SurveyExpired { valid_until } => {
                write!(f, "but the survey counted only until {valid_until}")
            }
            Self::LightExpired { valid_until } => {
                write!(f, "but its light readings counted only until {valid_until}")
            }
            Self::LampsOut => f.write_str("but the light was read while lamps were out"),
            _ => self.write_gap(f),
        }
    }

    /// Where points or readings are missing.
    fn write_gap(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewPoints { found, needed, .. } => {
                write!(f, "but {found} place(s) were measured in it where {needed} are needed")
            }
            Self::PointsOnOneLine { found, .. } => {
                write!(f, "but its {found} heights were measured along one line")
            }
            Self::NotSurveyedThere { at, .. } => {
                write!(f, "but it is not surveyed at {}, outside of the measured points", named(at))
            }
            Self::PointsTooSparse { at, distance_mm, distance_max_mm, .. } => {
                write_too_far(f, at, "measured point", *distance_mm, *distance_max_mm)
            }
            Self::TooFewReadings { found, needed, plane, height_mm, .. } => write!(
                f,
                "but {found} {plane} reading(s) at {height_mm:.0} mm were taken in it where \
                 {needed} are needed"
            ),
            Self::ReadingsOnOneLine { found, .. } => {
                write!(f, "but its {found} readings were taken along one line")
            }
            Self::ReadingsTooSparse { at, distance_mm, distance_max_mm, .. } => {
                write_too_far(f, at, "reading", *distance_mm, *distance_max_mm)
            }
            _ => Ok(()),
        }
    }

    /// The measurement that would decide, or what else to do.
    pub(super) fn survey_remedy(&self) -> String {
        match self {
            Self::HeightsTooUncertain { largest_u_that_decides, height_u_mm, points } => {
                let ways: Vec<_> = height_u_mm
                    .map(|u| {
                        format!("measure heights with a standard uncertainty of {u:.2} mm or less")
                    })
                    .into_iter()
                    .chain(
                        points.map(|points| format!("measure about {points} points in the zone")),
                    )
                    .collect();
                ways_or_level(&ways, largest_u_that_decides)
            }
            Self::HeightsScatter { largest_u_that_decides, points, .. } => {
                let ways: Vec<_> = points
                    .map(|points| format!("measure about {points} points in the zone"))
                    .into_iter()
                    .collect();
                ways_or_level(&ways, largest_u_that_decides)
            }
            Self::ResidualTooUncertain { largest_u_that_decides: u, at } if u.value > 0.0 => {
                format!(
                    "measure again at {} with a standard uncertainty of {:.2} mm or less, or level the \
                 floor",
                    named(at),
                    u.value
                )
            }
            Self::ResidualTooUncertain { at, .. } => {
                format!(
                    "no measurement decides a value on its limit, so level the floor at {}",
                    named(at)
                )
            }
            Self::Compensated { raise_mm } => {
                format!("{}, to the vehicle's own plane", set_target(*raise_mm))
            }
            Self::BeyondStand { .. } => {
                "level the floor, take another station or another stand".to_owned()
            }
            Self::VehicleFloorNotSurveyed => {
                "measure floor heights on a grid around the tyres and the target".to_owned()
            }
            Self::TooFewPoints { more, .. }
            | Self::PointsOnOneLine { more, .. }
            | Self::NotSurveyedThere { more, .. }
            | Self::PointsTooSparse { more, .. } => at_more_places("measure", "point", more),
            Self::TooFewReadings { grid, more, .. }
            | Self::ReadingsOnOneLine { grid, more, .. }
            | Self::ReadingsTooSparse { grid, more, .. } => {
                at_more_places("take", "reading", more) + &advised(grid.as_ref())
            }
            Self::LightExpired { .. } => "take the light readings again".to_owned(),
            Self::LampsOut => {
                "light all lamps, let them warm up and take the readings again".to_owned()
            }
            _ => String::new(),
        }
    }
}

fn ways_or_level(ways: &[String], largest_u: &Quantity) -> String {
    if ways.is_empty() {
        let sure = if largest_u.value > 0.0 { "no number of points" } else { "no measurement" };
        return format!("{sure} decides a slope so near to its limit, so level the floor");
    }
    format!("{}, or level the floor", ways.join(", or "))
}

fn set_target(raise_mm: f64) -> String {
    let way = if raise_mm < 0.0 { "lower" } else { "raise" };
    format!("{way} the target by {}", Quantity::mm(raise_mm.abs()))
}

fn named(at: &PointFloor) -> String {
    // Plus zero, so that no place is at minus nothing.
    format!("x {:.0} mm, y {:.0} mm", at.x_mm.round() + 0.0, at.y_mm.round() + 0.0)
}

fn write_too_far(
    f: &mut fmt::Formatter<'_>,
    at: &PointFloor,
    what: &str,
    distance_mm: f64,
    distance_max_mm: f64,
) -> fmt::Result {
    write!(
        f,
        "but {} is {distance_mm:.0} mm from the nearest {what} where {distance_max_mm:.0} mm are \
         allowed",
        named(at)
    )
}

fn at_more_places(verb: &str, what: &str, more: &MorePlaces) -> String {
    let count = more.places.len();
    let places: Vec<_> = more.places.iter().take(PLACES_NAMED).map(named).collect();
    let places = places.join("; ");
    let rest = if count > PLACES_NAMED { " and further ones" } else { "" };
    match (more.or_more, count) {
        (true, _) => {
            format!("{verb} {what}s over the whole zone, more than {count}, first at {places}")
        }
        (false, 1) => format!("{verb} 1 more {what}, at {places}"),
        (false, _) => format!("{verb} {count} more {what}s, at {places}{rest}"),
    }
}

fn advised(grid: Option<&LightGrid>) -> String {
    grid.map_or(String::new(), |grid| {
        format!(
            " (EN 12464-1 advises {} by {} readings, at most {:.0} mm apart)",
            grid.along, grid.across, grid.spacing_mm
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demand::LightPlane;
    use crate::fit::{Finding, NeedKind, Verdict};
    use rstest::rstest;

    fn more(places: &[(f64, f64)], or_more: bool) -> MorePlaces {
        let place = |(x_mm, y_mm): &(f64, f64)| PointFloor { x_mm: *x_mm, y_mm: *y_mm };
        MorePlaces { places: places.iter().map(place).collect(), or_more }
    }

    fn at(x_mm: f64, y_mm: f64) -> PointFloor {
        PointFloor { x_mm, y_mm }
    }

    const GRID: Option<LightGrid> = Some(LightGrid { spacing_mm: 431.0, along: 7, across: 5 });

    #[rstest]
    #[case::few(Detail::TooFewPoints { found: 4, needed: 6, more: more(&[(0.4, -0.4), (100.0, 5.0)], false) },
        "but 4 place(s) were measured in it where 6 are needed; measure 2 more points, at x 0 mm, \
         y 0 mm; x 100 mm, y 5 mm.")]
    #[case::line(Detail::PointsOnOneLine { found: 7, more: more(&[(1.0, 2.0)], false) },
        "but its 7 heights were measured along one line; measure 1 more point, at x 1 mm, y 2 mm.")]
    #[case::outside(Detail::NotSurveyedThere { at: at(6_400.0, 1_500.0), more: more(&[(6_400.0, 1_500.0)], false) },
        "but it is not surveyed at x 6400 mm, y 1500 mm, outside of the measured points; measure 1 \
         more point, at x 6400 mm, y 1500 mm.")]
    #[case::sparse(Detail::PointsTooSparse { at: at(7.0, 8.0), distance_mm: 900.0, distance_max_mm: 707.1,
        more: more(&[(7.0, 8.0); 12], true) },
        "but x 7 mm, y 8 mm is 900 mm from the nearest measured point where 707 mm are allowed; \
         measure points over the whole zone, more than 12, first at x 7 mm, y 8 mm; x 7 mm, y 8 mm; \
         x 7 mm, y 8 mm; x 7 mm, y 8 mm; x 7 mm, y 8 mm; x 7 mm, y 8 mm.")]
    #[case::readings(Detail::TooFewReadings { found: 0, needed: 3, plane: LightPlane::Vertical,
        height_mm: 1_200.0, grid: GRID, more: more(&[(1.0, 2.0)], false) },
        "but 0 vertical reading(s) at 1200 mm were taken in it where 3 are needed; take 1 more \
         reading, at x 1 mm, y 2 mm (EN 12464-1 advises 7 by 5 readings, at most 431 mm apart).")]
    #[case::lamps(
        Detail::LampsOut,
        "but the light was read while lamps were out; light all lamps, \
         let them warm up and take the readings again."
    )]
    #[case::unsure(Detail::HeightsTooUncertain { largest_u_that_decides: Quantity::deg(0.006),
        height_u_mm: Some(0.214), points: Some(41) },
        "and that is nearer to the limit than the guard band of 95 %; measure heights with a \
         standard uncertainty of 0.21 mm or less, or measure about 41 points in the zone, or level \
         the floor.")]
    #[case::uneven(Detail::ResidualTooUncertain { largest_u_that_decides: Quantity::mm(0.304), at: at(7.0, 8.0) },
        "most of all at x 7 mm, y 8 mm, and that is nearer to the limit than the guard band of 95 %; \
         measure again at x 7 mm, y 8 mm with a standard uncertainty of 0.30 mm or less, or level \
         the floor.")]
    #[case::raised(Detail::Compensated { raise_mm: 28.0 }, "which the stand reaches; raise the target \
         by 28.0 mm, to the vehicle's own plane.")]
    #[case::beyond(Detail::BeyondStand { raise_mm: -61.0 }, "so the stand does not reach: one would have \
         to lower the target by 61.0 mm; level the floor, take another station or another stand.")]
    #[case::rough(Detail::HeightsScatter { largest_u_that_decides: Quantity::deg(0.0), scatter_mm: 3.0, points: None },
        "the heights scatter by 3.0 mm about their plane, and that is nearer to the limit than the \
         guard band of 95 %; no measurement decides a slope so near to its limit, so level the \
         floor.")]
    fn an_undecided_need_says_which_measurement_decides(
        #[case] detail: Detail,
        #[case] expected: &str,
    ) {
        let finding = Finding::plain(NeedKind::LevelSlope, Verdict::Undecided, detail);
        assert_eq!(finding.to_string(), format!("Vehicle, level-slope: {expected}"));
    }
}
