//! What a zone asks of the bay: clear floor, levelness, light, no sun, no metal, rest, background.
//!
//! The figures are the procedure's document's; nothing here has a default. They are checked when
//! the zone that holds them is made.

use crate::demand::kinds::kinds;
use crate::fault::{Fault, FaultList, Faults};
use std::fmt;

kinds! {
    /// The plane in which light is measured.
    LightPlane ("plane") {
        /// The sensor of the light meter looks up.
        Horizontal = "horizontal",
        /// The sensor of the light meter looks sideways.
        Vertical = "vertical",
    }
}

/// What a zone asks of the light that falls into it.
///
/// At least one of the six figures is given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightNeed {
    /// The plane of the readings.
    pub plane: LightPlane,
    /// The height of the readings above the floor, 0 to 10000 mm.
    pub height_mm: f64,
    /// The least average, 1 to 200000 lux.
    pub average_min_lux: Option<f64>,
    /// The greatest average, 1 to 200000 lux, not below the least one.
    pub average_max_lux: Option<f64>,
    /// The least value anywhere, 1 to 200000 lux.
    pub minimum_lux: Option<f64>,
    /// The greatest value anywhere, 1 to 200000 lux, not below the least one.
    pub maximum_lux: Option<f64>,
    /// The least uniformity (smallest reading over average), above 0 to 1.
    pub uniformity_min: Option<f64>,
    /// The range of colour temperatures, 1000 to 20000 kelvin, both ends included.
    pub colour_temperature_k: Option<(f64, f64)>,
    /// How it is measured and decided.
    pub terms: LightTerms,
}

/// How light is measured and decided; what is not stated has the usual value.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LightTerms {
    /// Spacing of a square grid of readings that is dense enough, 100 to 10000 mm.
    pub reading_spacing_max_mm: Option<f64>,
    /// How sure a verdict has to be, 0.8 to 0.9999.
    pub conformance_probability: Option<f64>,
}

/// How a level floor is measured and decided; what is not stated has the usual value, and nothing
/// is compensated.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LevelTerms {
    /// Spacing of a square grid of heights that is dense enough, 100 to 10000 mm.
    pub point_spacing_max_mm: Option<f64>,
    /// How far the stand in this zone may be raised or lowered to the vehicle's own plane instead of
    /// standing on a level floor, above 0 to 500 mm; none where the document allows nothing of it.
    pub compensation_max_mm: Option<f64>,
    /// How sure a verdict has to be, 0.8 to 0.9999.
    pub conformance_probability: Option<f64>,
}

/// One thing that a zone asks of the bay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ZoneNeed {
    /// Nothing stands in the zone from the floor up to a height.
    ClearFloor {
        /// The height, above 0 to 10000 mm.
        up_to_mm: f64,
    },
    /// The floor of the zone is level.
    Level {
        /// The steepest slope of the zone's plane that is allowed, above 0 to 10 degrees.
        slope_max_deg: f64,
        /// The largest distance of a surveyed point from that plane, above 0 to 500 mm.
        residual_max_mm: Option<f64>,
        /// How it is measured and decided.
        terms: LevelTerms,
    },
    /// Enough, even, white light.
    Light(LightNeed),
    /// The sun does not shine into the zone.
    NoDirectSun {
        /// From the floor up to this height, above 0 to 10000 mm.
        up_to_mm: f64,
    },
    /// No metal body stands in the zone.
    NoMetal {
        /// From the floor up to this height, above 0 to 10000 mm.
        up_to_mm: f64,
    },
    /// Nobody and nothing moves in the zone while the work runs.
    NothingMoving,
    /// The sensor sees nothing striped, shining or cluttered behind the target.
    PlainBackground,
}

/// The greatest height that a need reaches to, millimetres.
const HEIGHT_MM_MAX: f64 = 10_000.0;
/// The greatest illuminance that is taken for one, lux: twice that of the brightest sunlight.
const LUX_MAX: f64 = 200_000.0;

impl ZoneNeed {
    /// Checks the figures of one need; paths are relative to the need.
    pub(crate) fn check(&self) -> Result<(), Faults> {
        let mut faults = FaultList::new();
        match *self {
            Self::ClearFloor { up_to_mm }
            | Self::NoDirectSun { up_to_mm }
            | Self::NoMetal { up_to_mm } => {
                above_zero_up_to(&mut faults, "up_to_mm", up_to_mm, HEIGHT_MM_MAX, "mm");
            }
            Self::Level { slope_max_deg, residual_max_mm, terms } => {
                above_zero_up_to(&mut faults, "slope_max_deg", slope_max_deg, 10.0, "degrees");
                if let Some(residual) = residual_max_mm {
                    above_zero_up_to(&mut faults, "residual_max_mm", residual, 500.0, "mm");
                }
                if let Some(range) = terms.compensation_max_mm {
                    above_zero_up_to(&mut faults, "compensation_max_mm", range, 500.0, "mm");
                }
                check_spacing(&mut faults, "point_spacing_max_mm", terms.point_spacing_max_mm);
                check_probability(&mut faults, terms.conformance_probability);
            }
            Self::Light(need) => check_light(&mut faults, &need),
            Self::NothingMoving | Self::PlainBackground => {}
        }
        faults.finish(())
    }
}

fn check_spacing(faults: &mut FaultList, field: &str, spacing_mm: Option<f64>) {
    if let Some(spacing) = spacing_mm {
        faults.number_within(field, spacing, 100.0, 10_000.0, "mm");
    }
}

fn check_probability(faults: &mut FaultList, probability: Option<f64>) {
    if let Some(probability) = probability {
        // Below 0.8 a verdict would be little better than a guess.
        faults.number_within("conformance_probability", probability, 0.8, 0.999_9, "");
    }
}

fn check_light(faults: &mut FaultList, need: &LightNeed) {
    faults.number_within("height_mm", need.height_mm, 0.0, HEIGHT_MM_MAX, "mm");
    let illuminances = [
        ("average_min_lux", need.average_min_lux),
        ("average_max_lux", need.average_max_lux),
        ("minimum_lux", need.minimum_lux),
        ("maximum_lux", need.maximum_lux),
    ];
    for (field, lux) in illuminances {
        if let Some(lux) = lux {
            faults.number_within(field, lux, 1.0, LUX_MAX, "lux");
        }
    }
    if let (Some(least), Some(most)) = (need.average_min_lux, need.average_max_lux) {
        in_order(faults, "average_max_lux", least, most);
    }
    if let (Some(least), Some(most)) = (need.minimum_lux, need.maximum_lux) {
        in_order(faults, "maximum_lux", least, most);
    }
    check_spacing(faults, "reading_spacing_max_mm", need.terms.reading_spacing_max_mm);
    check_probability(faults, need.terms.conformance_probability);
    if let Some(uniformity) = need.uniformity_min {
        above_zero_up_to(faults, "uniformity_min", uniformity, 1.0, "(smallest over average)");
    }
    if let Some((least, most)) = need.colour_temperature_k {
        for kelvin in [least, most] {
            faults.number_within("colour_temperature_k", kelvin, 1_000.0, 20_000.0, "K");
        }
        in_order(faults, "colour_temperature_k", least, most);
    }
    let asks_something = illuminances.iter().any(|(_, lux)| lux.is_some())
        || need.uniformity_min.is_some()
        || need.colour_temperature_k.is_some();
    if !asks_something {
        faults.push(Fault::new(
            "average_min_lux",
            "absent, as are all other figures of this light need",
            "be given, or another figure of the light need",
            "copy the figures from the procedure's document or leave the light need out",
        ));
    }
}

fn in_order(faults: &mut FaultList, field: &str, least: f64, most: f64) {
    if most < least {
        faults.push(Fault::new(
            field,
            most,
            format!("be at least {least}, the lower limit"),
            "exchange the two limits",
        ));
    }
}

/// Notes a fault unless `value` is a number above zero and at most `most`.
fn above_zero_up_to(faults: &mut FaultList, field: &str, value: f64, most: f64, unit: &str) {
    if !(value > 0.0 && value <= most) {
        faults.push(Fault::new(
            field,
            value,
            format!("be a number above 0 and at most {most} {unit}"),
            "correct the number or its unit",
        ));
    }
}

impl fmt::Display for ZoneNeed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ClearFloor { up_to_mm } => write!(f, "clear floor up to {up_to_mm} mm"),
            Self::Level { slope_max_deg, .. } => write!(f, "level within {slope_max_deg} degrees"),
            Self::Light(need) => {
                write!(f, "light, {} plane at {} mm", need.plane, need.height_mm)
            }
            Self::NoDirectSun { up_to_mm } => write!(f, "no direct sun up to {up_to_mm} mm"),
            Self::NoMetal { up_to_mm } => write!(f, "no metal up to {up_to_mm} mm"),
            Self::NothingMoving => f.write_str("nothing moving"),
            Self::PlainBackground => f.write_str("plain background"),
        }
    }
}
