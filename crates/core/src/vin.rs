//! The vehicle identification number: its form, and its check digit as a warning.
//!
//! A VIN has 17 characters out of digits and letters without I, O and Q; anything else is refused.
//! The check digit in the ninth place is law in North America only; a vehicle built for another
//! market need not carry one, and a right one does not prove the number (one in eleven wrong
//! numbers has it by chance). A wrong check digit is therefore a warning, never a refusal.
//!
//! Source: 49 CFR 565.15(c), tables III to V. That ISO 3779 asks for no check digit: from memory.

use crate::fault::{Fault, FaultList, Faults};
use std::fmt;

/// The number of characters.
pub const VIN_LENGTH: usize = 17;

/// The place of the check digit, counted from 0.
const CHECK_PLACE: usize = 8;

/// The weight of each place; the check digit itself has none.
const WEIGHTS: [u32; VIN_LENGTH] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// A vehicle identification number, upper case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Vin([u8; VIN_LENGTH]);

impl Vin {
    /// Takes a VIN as typed: lower-case letters are raised, space around it is dropped.
    ///
    /// # Errors
    /// A fault of the field `vin` for a wrong length, and one for each character that no VIN has.
    ///
    /// # Edge cases
    /// A wrong check digit is no fault: ask [`Vin::check_digit_valid`] and warn.
    ///
    /// # Example: a number typed in lower case
    /// ```
    /// # use baywright_core::vin::Vin;
    /// let vin = Vin::parse("1m8gdm9axkp042788")?;
    /// assert_eq!(vin.as_str(), "1M8GDM9AXKP042788");
    /// assert!(vin.check_digit_valid());
    /// # Ok::<(), baywright_core::fault::Faults>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, Faults> {
        let text = text.trim();
        let mut faults = FaultList::new();
        let mut characters = [0; VIN_LENGTH];
        let mut count = 0;
        for (place, typed) in text.chars().enumerate() {
            count += 1;
            let Some(slot) = characters.get_mut(place) else { continue };
            match value(typed.to_ascii_uppercase()) {
                Some((ascii, _)) => *slot = ascii,
                None => faults.push(strange(place, typed)),
            }
        }
        if count != VIN_LENGTH {
            faults.push(Fault::new(
                "vin",
                format!("\"{text}\" ({count} characters)"),
                format!("have {VIN_LENGTH} characters"),
                "read the number again from the vehicle or its papers",
            ));
        }
        faults.finish(Self(characters))
    }

    /// The number, upper case.
    pub fn as_str(&self) -> &str {
        // The constructor takes ASCII only, so this always is text.
        str::from_utf8(&self.0).unwrap_or_default()
    }

    /// The character that the rule puts in the ninth place: a digit, or X for ten.
    ///
    /// # Source
    /// 49 CFR 565.15(c): the sum of value times weight over all places, modulo 11.
    pub fn check_digit_computed(self) -> char {
        let sum: u32 = self
            .0
            .iter()
            .zip(WEIGHTS)
            .map(|(ascii, weight)| value(char::from(*ascii)).map_or(0, |(_, value)| value) * weight)
            .sum();
        char::from_digit(sum % 11, 10).unwrap_or('X')
    }

    /// Whether the ninth character is the one that the North American rule computes.
    ///
    /// A "no" is a reason to read the number again, never to refuse the vehicle.
    pub fn check_digit_valid(self) -> bool {
        char::from(self.0[CHECK_PLACE]) == self.check_digit_computed()
    }
}

/// The character as ASCII, and its value in the sum; none for what no VIN has.
fn value(character: char) -> Option<(u8, u32)> {
    let value = match character {
        '0'..='9' => u32::from(character) - u32::from('0'),
        'A'..='H' => u32::from(character) - u32::from('A') + 1,
        'J'..='N' => u32::from(character) - u32::from('J') + 1,
        'P' => 7,
        'R' => 9,
        'S'..='Z' => u32::from(character) - u32::from('S') + 2,
        _ => return None,
    };
    u8::try_from(character).ok().map(|ascii| (ascii, value))
}

fn strange(place: usize, typed: char) -> Fault {
    let remedy = match typed.to_ascii_uppercase() {
        'I' => "read the number again: it is a 1",
        'O' | 'Q' => "read the number again: it is a 0",
        _ => "read the number again from the vehicle or its papers",
    };
    Fault::new(
        "vin",
        format!("\"{typed}\" in place {}", place + 1),
        "consist of digits and letters other than I, O and Q",
        remedy,
    )
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    #[rstest]
    // The two widely published worked examples of the rule in 49 CFR 565.15(c).
    #[case::published_x("1M8GDM9AXKP042788", 'X')]
    #[case::published_ones("11111111111111111", '1')]
    // The regulator's sample in its outline for new manufacturers.
    #[case::regulators_sample("1J9RP1A36A1644345", '6')]
    fn the_check_digit_is_the_published_one(#[case] text: &str, #[case] digit: char) {
        let vin = Vin::parse(text).unwrap();
        assert_eq!(vin.check_digit_computed(), digit);
        assert!(vin.check_digit_valid());
        assert_eq!(vin.to_string(), text);
    }

    #[rstest]
    #[case::digit_for_x("1M8GDM9A1KP042788")]
    #[case::last_digit_changed("1M8GDM9AXKP042789")]
    #[case::neighbours_exchanged("1M8GDM9AXKP024788")]
    fn a_wrong_check_digit_is_told_and_the_number_is_taken(#[case] text: &str) {
        assert!(!Vin::parse(text).unwrap().check_digit_valid());
    }

    #[rstest]
    #[case::letter_i("1I8GDM9AXKP042788", &["place 2"])]
    #[case::letter_o_and_q("1M8GDM9AXKPO4278q", &["place 12", "place 17"])]
    #[case::hyphen("1M8GDM9A-KP042788", &["place 9"])]
    #[case::other_digit("1M8GDM9AXKP04278٨", &["place 17"])]
    #[case::short("1M8GDM9AXKP04278", &["16 characters"])]
    #[case::long("1M8GDM9AXKP0427888", &["18 characters"])]
    #[case::empty("", &["0 characters"])]
    #[case::space_inside("1M8GDM9AX KP042788", &["place 10", "18 characters"])]
    fn what_is_no_vin_is_refused_with_every_fault(#[case] text: &str, #[case] values: &[&str]) {
        let faults = Vin::parse(text).unwrap_err();
        assert_eq!(faults.list().len(), values.len(), "{faults:?}");
        for (fault, value) in faults.list().iter().zip(values) {
            assert_eq!(fault.field, "vin");
            assert!(fault.value.contains(value), "{fault}");
        }
    }

    proptest! {
        #[test]
        fn one_character_of_another_value_is_always_noticed_where_its_weight_divides(
            text in "[A-HJ-NPR-Z0-9]{17}", place in 0_usize..17, other in "[A-HJ-NPR-Z0-9]",
        ) {
            let vin = Vin::parse(&text).unwrap();
            let mut right = text.clone().into_bytes();
            right[CHECK_PLACE] = u8::try_from(vin.check_digit_computed()).unwrap();
            prop_assert!(Vin::parse(str::from_utf8(&right).unwrap()).unwrap().check_digit_valid());

            let mut changed = right.clone();
            changed[place] = other.as_bytes()[0];
            let same_value = |a: u8, b: u8| value(char::from(a)).unwrap().1 == value(char::from(b)).unwrap().1;
            let wrong = Vin::parse(str::from_utf8(&changed).unwrap()).unwrap();
            if place == CHECK_PLACE {
                prop_assert_eq!(wrong.check_digit_valid(), changed == right);
            } else {
                prop_assert_eq!(wrong.check_digit_valid(), same_value(changed[place], right[place]));
            }
        }

        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,24}") {
            if let Ok(vin) = Vin::parse(&text) {
                prop_assert_eq!(vin.as_str().len(), VIN_LENGTH);
            }
        }
    }
}
