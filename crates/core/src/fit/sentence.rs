//! Each finding as one complete sentence: what was asked, what was found, what to do.

use super::{Detail, Finding, NeedKind, Neighbour, Quantity, Unit, Verdict};
use std::fmt;

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let value = self.value;
        match self.unit {
            Unit::Millimetre => write!(f, "{value:.1} mm"),
            Unit::SquareMillimetre if value.abs() < 100.0 => write!(f, "{value:.2} mm2"),
            Unit::SquareMillimetre => write!(f, "{value:.0} mm2"),
            Unit::Degree => write!(f, "{value:.3} degrees"),
            Unit::Lux => write!(f, "{value:.1} lux"),
            Unit::Kelvin => write!(f, "{value:.0} K"),
            Unit::Ratio => write!(f, "{value:.3}"),
            Unit::Minute => write!(f, "{value:.0} min"),
        }
    }
}

impl fmt::Display for Finding {
    /// One sentence, with the remedy after a semicolon where there is something to do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.zone {
            Some(zone) => write!(f, "Zone {zone}, {}: ", self.need)?,
            None => write!(f, "Vehicle, {}: ", self.need)?,
        }
        self.write_figures(f)?;
        self.write_reason(f)?;
        if let Some(remedy) = self.remedy() {
            write!(f, "; {remedy}")?;
        }
        f.write_str(".")
    }
}

impl Finding {
    /// What to do about it; none when it holds.
    pub fn remedy(&self) -> Option<String> {
        if self.verdict == Verdict::Conforms {
            return None;
        }
        Some(match &self.detail {
            Detail::OutsideFloor { depth_mm, .. } => format!(
                "stand {} further from that edge or take a larger bay",
                Quantity::mm(*depth_mm)
            ),
            Detail::Obstructed { obstruction, .. } | Detail::MetalInside { obstruction, .. } => {
                format!("move {obstruction} away or take another station")
            }
            Detail::CeilingLow => "take a bay with a higher ceiling".to_owned(),
            Detail::SlopeTooSteep | Detail::FloorUneven => {
                "level the floor or take another station".to_owned()
            }
            Detail::TooDark | Detail::LightUneven => "add or move lamps, then survey".to_owned(),
            Detail::TooBright => "dim the lamps or shut the blinds, then survey".to_owned(),
            Detail::ColourOff => "fit lamps of a colour temperature in the range".to_owned(),
            Detail::ZoneWithoutShape(fault) => {
                format!("correct the zone in the procedure: {}", fault.remedy)
            }
            Detail::TooUncertain { largest_u_that_decides: u } if u.value > 0.0 => {
                format!("measure with a standard uncertainty of {u} or less, or improve the bay")
            }
            Detail::TooUncertain { .. } => {
                "no measurement decides a value on its limit, so improve the bay".to_owned()
            }
            Detail::NotSurveyed
            | Detail::OutlineChanged
            | Detail::SurveyOfOtherBay { .. }
            | Detail::SurveyNotYetTaken { .. }
            | Detail::SurveyExpired { .. } => format!("survey the bay: {}", self.measurement()),
            Detail::ColourNotMeasured => "measure the lamps' colour temperature".to_owned(),
            Detail::SunToConfirm { .. } => {
                "look before the start that no direct sun falls into the zone".to_owned()
            }
            Detail::SunInViewToConfirm { .. } => {
                "look before the start that the sensor does not see the sun".to_owned()
            }
            Detail::MetalBeyondBayToConfirm { .. } => {
                "look before the start that no metal stands in that part".to_owned()
            }
            Detail::RestToConfirm => "keep people and doors still while the work runs".to_owned(),
            Detail::BackgroundToConfirm => {
                "look along the sensor's view before the start".to_owned()
            }
            Detail::Holds
            | Detail::LeftToCompensation
            | Detail::Clear { .. }
            | Detail::FreeOfMetal { .. }
            | Detail::NoDaylightOpening => return None,
            Detail::HeightsTooUncertain { .. }
            | Detail::HeightsScatter { .. }
            | Detail::ResidualTooUncertain { .. }
            | Detail::Compensated { .. }
            | Detail::BeyondStand { .. }
            | Detail::VehicleFloorNotSurveyed
            | Detail::TooFewPoints { .. }
            | Detail::PointsOnOneLine { .. }
            | Detail::NotSurveyedThere { .. }
            | Detail::PointsTooSparse { .. }
            | Detail::TooFewReadings { .. }
            | Detail::ReadingsOnOneLine { .. }
            | Detail::ReadingsTooSparse { .. }
            | Detail::LightExpired { .. }
            | Detail::LampsOut => self.detail.survey_remedy(),
        })
    }

    /// The measurement that would decide the need.
    fn measurement(&self) -> &'static str {
        match self.need {
            NeedKind::LevelSlope | NeedKind::LevelResidual | NeedKind::TargetCompensation => {
                "measure floor heights on a grid over the whole zone"
            }
            NeedKind::LightAverageMin
            | NeedKind::LightAverageMax
            | NeedKind::LightMinimum
            | NeedKind::LightMaximum
            | NeedKind::LightUniformity => {
                "take light readings over the whole zone at the plane and height asked"
            }
            NeedKind::ColourTemperature => "measure the lamps' colour temperature",
            NeedKind::Body
            | NeedKind::ZoneShape
            | NeedKind::ClearFloor
            | NeedKind::NoDirectSun
            | NeedKind::NoMetal
            | NeedKind::NothingMoving
            | NeedKind::PlainBackground => "measure the zone",
        }
    }

    /// Measured value, uncertainty and limit of a finding whose reason does not state them.
    fn write_figures(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bound = match self.need {
            NeedKind::LightAverageMin | NeedKind::LightMinimum | NeedKind::LightUniformity => {
                "at least"
            }
            NeedKind::ColourTemperature => "within a range whose nearest end is",
            _ => "at most",
        };
        match (&self.detail, self.measured, self.limit) {
            (Detail::Clear { .. } | Detail::FreeOfMetal { .. }, Some(distance), _) => {
                write!(f, "{distance} to spare, ")
            }
            (
                Detail::Clear { .. }
                | Detail::FreeOfMetal { .. }
                | Detail::OutsideFloor { .. }
                | Detail::Obstructed { .. }
                | Detail::MetalInside { .. }
                | Detail::MetalBeyondBayToConfirm { .. },
                _,
                _,
            ) => Ok(()),
            (Detail::CeilingLow, Some(ceiling), Some(needed)) => {
                write!(f, "the ceiling is at {ceiling} where {needed} are needed, ")
            }
            (Detail::LeftToCompensation, Some(measured), _) => write!(f, "{measured} measured, "),
            (_, Some(measured), Some(limit)) => {
                write!(f, "{measured} measured")?;
                if let Some(value) = self.uncertainty {
                    let uncertainty = Quantity { value, unit: measured.unit };
                    write!(f, " (standard uncertainty {uncertainty})")?;
                }
                write!(f, " where {bound} {limit} is asked, ")
            }
            (_, None, Some(limit)) => write!(f, "{bound} {limit} is asked, "),
            (_, _, None) => Ok(()),
        }
    }
}

impl Finding {
    fn write_reason(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.detail.write_reason(f)?;
        if self.detail.is_about_a_guard_band() {
            let percent = self.conformance_probability.probability() * 100.0;
            // Two decimals show every probability that is taken, and none is shown without need.
            let percent = format!("{percent:.2}");
            let percent = percent.trim_end_matches('0').trim_end_matches('.');
            write!(f, "and that is nearer to the limit than the guard band of {percent} %")?;
        }
        Ok(())
    }
}

impl Detail {
    /// The reason, as the end of a sentence.
    fn write_reason(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Holds => f.write_str("so it holds"),
            Self::NoDaylightOpening => f.write_str("the bay has no opening for daylight"),
            Self::CeilingLow => f.write_str("so it is too low"),
            Self::SlopeTooSteep => f.write_str("so the floor slopes too much"),
            Self::FloorUneven => f.write_str("so the floor is too uneven"),
            Self::TooDark => f.write_str("so it is too dark"),
            Self::TooBright => f.write_str("so it is too bright"),
            Self::LightUneven => f.write_str("so the light is too uneven"),
            Self::ColourOff => f.write_str("so the light has the wrong colour"),
            Self::NotSurveyed => f.write_str("but the bay has no survey"),
            Self::OutlineChanged => {
                f.write_str("but the bay's outline has changed since its survey")
            }
            Self::ColourNotMeasured => f.write_str("but the survey states no colour temperature"),
            Self::RestToConfirm => f.write_str("whether anything moves is seen at the vehicle"),
            Self::BackgroundToConfirm => {
                f.write_str("whether the background is plain is seen at the vehicle")
            }
            Self::ZoneWithoutShape(fault) => {
                write!(f, "for this vehicle the zone has no shape, its outline is {}", fault.value)
            }
            Self::Clear { .. }
            | Self::FreeOfMetal { .. }
            | Self::OutsideFloor { .. }
            | Self::Obstructed { .. }
            | Self::MetalInside { .. }
            | Self::MetalBeyondBayToConfirm { .. }
            | Self::SunToConfirm { .. }
            | Self::SunInViewToConfirm { .. } => self.write_what_stands_where(f),
            Self::TooUncertain { .. }
            | Self::HeightsTooUncertain { .. }
            | Self::HeightsScatter { .. }
            | Self::ResidualTooUncertain { .. }
            | Self::LeftToCompensation
            | Self::Compensated { .. }
            | Self::BeyondStand { .. }
            | Self::VehicleFloorNotSurveyed
            | Self::SurveyOfOtherBay { .. }
            | Self::SurveyNotYetTaken { .. }
            | Self::SurveyExpired { .. }
            | Self::TooFewPoints { .. }
            | Self::PointsOnOneLine { .. }
            | Self::NotSurveyedThere { .. }
            | Self::PointsTooSparse { .. }
            | Self::TooFewReadings { .. }
            | Self::ReadingsOnOneLine { .. }
            | Self::ReadingsTooSparse { .. }
            | Self::LightExpired { .. }
            | Self::LampsOut => self.write_of_the_survey(f),
        }
    }

    /// What stands where, of the floor and its surroundings.
    fn write_what_stands_where(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Clear { up_to_mm, nearest } => {
                write!(f, "clear up to {}, nearest is {nearest}", Quantity::mm(*up_to_mm))
            }
            Self::FreeOfMetal { up_to_mm, nearest: None } => {
                write!(f, "no metal stands in the bay up to {}", Quantity::mm(*up_to_mm))
            }
            Self::FreeOfMetal { up_to_mm, nearest: Some(nearest) } => write!(
                f,
                "free of metal up to {}, the nearest metal is {nearest}",
                Quantity::mm(*up_to_mm)
            ),
            Self::OutsideFloor { outside_mm2, depth_mm, beyond_edge } => write!(
                f,
                "{} lie outside of the bay, up to {} beyond {}",
                Quantity::mm2(*outside_mm2),
                Quantity::mm(*depth_mm),
                Neighbour::Edge(*beyond_edge)
            ),
            Self::Obstructed { obstruction, overlap_mm2, from_mm, to_mm } => write!(
                f,
                "obstruction {obstruction}, {from_mm:.0} to {to_mm:.0} mm high, takes {} of it",
                Quantity::mm2(*overlap_mm2)
            ),
            Self::MetalInside { obstruction, overlap_mm2 } => {
                write!(f, "metal of {obstruction} takes {} of it", Quantity::mm2(*overlap_mm2))
            }
            Self::MetalBeyondBayToConfirm { outside_mm2 } => write!(
                f,
                "{} lie outside of the bay, where metal is not drawn",
                Quantity::mm2(*outside_mm2)
            ),
            Self::SunInViewToConfirm { view, openings } => {
                write!(
                    f,
                    "{openings} opening(s) let daylight in, and view {view} may see none of it"
                )
            }
            Self::SunToConfirm { up_to_mm, openings } => write!(
                f,
                "{openings} opening(s) let daylight in, and none may fall up to {}",
                Quantity::mm(*up_to_mm)
            ),
            _ => Ok(()),
        }
    }
}

impl fmt::Display for Neighbour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Edge(edge) => write!(f, "the bay's edge from its vertex {edge}"),
            Self::Obstruction(obstruction) => write!(f, "{obstruction}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::Fault;
    use crate::ids::{BayId, ObstructionId, SunFreeViewId};

    fn details() -> Vec<Detail> {
        let obstruction = || ObstructionId::new("column-1").unwrap();
        let day = "2026-03-02".parse().unwrap();
        vec![
            Detail::Holds,
            Detail::Clear { up_to_mm: 2_000.0, nearest: Neighbour::Obstruction(obstruction()) },
            Detail::FreeOfMetal { up_to_mm: 900.0, nearest: None },
            Detail::FreeOfMetal { up_to_mm: 900.0, nearest: Some(obstruction()) },
            Detail::NoDaylightOpening,
            Detail::OutsideFloor { outside_mm2: 12.5, depth_mm: 3.0, beyond_edge: 2 },
            Detail::Obstructed {
                obstruction: obstruction(),
                overlap_mm2: 2_500.0,
                from_mm: 0.0,
                to_mm: 3_000.0,
            },
            Detail::CeilingLow,
            Detail::MetalInside { obstruction: obstruction(), overlap_mm2: 2_500.0 },
            Detail::SlopeTooSteep,
            Detail::FloorUneven,
            Detail::TooDark,
            Detail::TooBright,
            Detail::LightUneven,
            Detail::ColourOff,
            Detail::ZoneWithoutShape(Fault::new("outline", "crossed", "be simple", "redraw it")),
            Detail::TooUncertain { largest_u_that_decides: Quantity::deg(0.01) },
            Detail::TooUncertain { largest_u_that_decides: Quantity::deg(0.0) },
            Detail::NotSurveyed,
            Detail::OutlineChanged,
            Detail::SurveyOfOtherBay { bay: BayId::new("bay-2").unwrap() },
            Detail::SurveyNotYetTaken { taken_on: day },
            Detail::SurveyExpired { valid_until: day },
            Detail::ColourNotMeasured,
            Detail::SunToConfirm { up_to_mm: 2_000.0, openings: 2 },
            Detail::SunInViewToConfirm { view: SunFreeViewId::new("camera").unwrap(), openings: 2 },
            Detail::MetalBeyondBayToConfirm { outside_mm2: 2_500.0 },
            Detail::RestToConfirm,
            Detail::BackgroundToConfirm,
        ]
    }

    #[test]
    fn every_reason_is_a_sentence_of_its_own() {
        let sentences: Vec<_> = details()
            .into_iter()
            .map(|detail| Finding::plain(NeedKind::LevelSlope, Verdict::Undecided, detail))
            .map(|finding| finding.to_string())
            .collect();
        for sentence in &sentences {
            let reason = sentence.strip_prefix("Vehicle, level-slope: ").unwrap();
            let reason = reason.split(';').next().unwrap().trim_end_matches('.');
            assert!(reason.len() > 8, "{sentence}");
            assert!(sentence.ends_with('.') && !sentence.ends_with(".."), "{sentence}");
        }
        let different: std::collections::BTreeSet<_> = sentences.iter().collect();
        assert_eq!(different.len(), sentences.len());
    }

    #[test]
    fn a_slope_states_its_value_uncertainty_limit_and_what_would_decide() {
        let finding = Finding {
            measured: Some(Quantity::deg(0.29)),
            limit: Some(Quantity::deg(0.3)),
            uncertainty: Some(0.02),
            ..Finding::plain(
                NeedKind::LevelSlope,
                Verdict::Undecided,
                Detail::TooUncertain { largest_u_that_decides: Quantity::deg(0.006) },
            )
        };
        assert_eq!(
            finding.to_string(),
            "Vehicle, level-slope: 0.290 degrees measured (standard uncertainty 0.020 degrees) \
             where at most 0.300 degrees is asked, and that is nearer to the limit than the guard \
             band of 95 %; measure with a standard uncertainty of 0.006 degrees or less, or \
             improve the bay."
        );
    }
}
