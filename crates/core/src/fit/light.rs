//! Light in a zone: each figure that the need limits, held against the readings in the zone.

use super::site::Site;
use super::{Detail, Finding, NeedKind, Quantity, Unit, Verdict};
use crate::demand::LightNeed;
use crate::region::Polygon;
use crate::survey::{LightField, Limits, Survey, light_within};

/// The fewest readings in a zone that decide about its light; our own choice.
pub const LIGHT_READINGS_MIN: usize = 3;

/// Judges every limited figure of the light in a zone.
pub(super) fn zone(site: &Site<'_>, zone_floor: &Polygon, need: &LightNeed) -> Vec<Finding> {
    let survey = site.survey_that_counts();
    let found = survey.clone().and_then(|survey| {
        readings(survey, zone_floor, need).map(|field| (survey.light_uncertainty_relative(), field))
    });
    let figures = limited_figures(need);
    let mut findings: Vec<_> = match found {
        Ok((relative, field)) => {
            figures.into_iter().map(|figure| figure.judge(&field, relative)).collect()
        }
        Err(detail) => figures.into_iter().map(|figure| figure.undecided(detail.clone())).collect(),
    };
    if let Some(range) = need.colour_temperature_k {
        findings.push(colour(survey, range));
    }
    findings
}

/// One figure of the light and its limit.
#[derive(Debug, Clone, Copy)]
enum Figure {
    AverageMin(f64),
    AverageMax(f64),
    Minimum(f64),
    Uniformity(f64),
}

fn limited_figures(need: &LightNeed) -> Vec<Figure> {
    [
        need.average_min_lux.map(Figure::AverageMin),
        need.average_max_lux.map(Figure::AverageMax),
        need.minimum_lux.map(Figure::Minimum),
        need.uniformity_min.map(Figure::Uniformity),
    ]
    .into_iter()
    .flatten()
    .collect()
}

impl Figure {
    fn judge(self, field: &LightField, relative: f64) -> Finding {
        let lux = |value: f64| Quantity { value, unit: Unit::Lux };
        let average = lux(field.average_lux());
        let average_u = field.average_uncertainty_lux(relative);
        let (measured, uncertainty, limits, fails) = match self {
            Self::AverageMin(limit) => {
                (average, average_u, Limits::at_least(limit), Detail::TooDark)
            }
            Self::AverageMax(limit) => {
                (average, average_u, Limits::at_most(limit), Detail::TooBright)
            }
            Self::Minimum(limit) => (
                lux(field.minimum_lux()),
                field.minimum_uncertainty_lux(relative),
                Limits::at_least(limit),
                Detail::TooDark,
            ),
            Self::Uniformity(limit) => (
                Quantity { value: field.uniformity(), unit: Unit::Ratio },
                field.uniformity_uncertainty(relative),
                Limits::at_least(limit),
                Detail::LightUneven,
            ),
        };
        Finding::judged(self.need(), measured, uncertainty, limits, fails)
    }

    fn undecided(self, detail: Detail) -> Finding {
        let limit = match self {
            Self::AverageMin(value) | Self::AverageMax(value) | Self::Minimum(value) => {
                Quantity { value, unit: Unit::Lux }
            }
            Self::Uniformity(value) => Quantity { value, unit: Unit::Ratio },
        };
        let plain = Finding::plain(self.need(), Verdict::Undecided, detail);
        Finding { limit: Some(limit), ..plain }
    }

    fn need(self) -> NeedKind {
        match self {
            Self::AverageMin(_) => NeedKind::LightAverageMin,
            Self::AverageMax(_) => NeedKind::LightAverageMax,
            Self::Minimum(_) => NeedKind::LightMinimum,
            Self::Uniformity(_) => NeedKind::LightUniformity,
        }
    }
}

fn readings(survey: &Survey, zone_floor: &Polygon, need: &LightNeed) -> Result<LightField, Detail> {
    let field = light_within(survey, zone_floor, need.plane, need.height_mm);
    let found = field.as_ref().map_or(0, LightField::count);
    field.filter(|field| field.count() >= LIGHT_READINGS_MIN).ok_or(Detail::TooFewReadings {
        found,
        needed: LIGHT_READINGS_MIN,
        plane: need.plane,
        height_mm: need.height_mm,
    })
}

/// The colour temperature is told for the lamps of the bay, without an uncertainty of its own.
fn colour(survey: Result<&Survey, Detail>, (least, most): (f64, f64)) -> Finding {
    let kelvin = |value: f64| Quantity { value, unit: Unit::Kelvin };
    let told =
        survey.and_then(|survey| survey.colour_temperature_k().ok_or(Detail::ColourNotMeasured));
    match told {
        Ok(told) => {
            let limits = Limits { lower: Some(least), upper: Some(most) };
            let measured = kelvin(told);
            let judged = Finding::judged(
                NeedKind::ColourTemperature,
                measured,
                0.0,
                limits,
                Detail::ColourOff,
            );
            Finding { uncertainty: None, ..judged }
        }
        Err(detail) => Finding {
            limit: Some(kelvin(least)),
            ..Finding::plain(NeedKind::ColourTemperature, Verdict::Undecided, detail)
        },
    }
}
