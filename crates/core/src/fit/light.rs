//! Light in a zone: each figure that the need limits, held against the light between the readings.
//!
//! Readings count with all lamps lit and as long as they are young enough, and only where they are
//! dense enough for the whole zone; otherwise the light is undecided, with the places to read and
//! the grid that EN 12464-1 advises.

use super::level::probability;
use super::site::Site;
use super::{Detail, Finding, NeedKind, Quantity, Unit, Verdict};
use crate::demand::LightNeed;
use crate::region::Polygon;
use crate::survey::{
    Density, Gap, LampState, LightField, LightGrid, LightReadings, Limits, Survey, gap, more_places,
};

/// The fewest readings in a zone that decide about its light; our own choice.
pub const LIGHT_READINGS_MIN: usize = 3;
/// The spacing of readings that light takes unless its procedure asks for another, millimetres; our
/// own choice. EN 12464-1 advises a closer grid for areas shorter than 10 m.
pub const LIGHT_SPACING_MM_DEFAULT: f64 = 1_000.0;

/// Judges every limited figure of the light in a zone.
pub(super) fn zone(site: &Site<'_>, zone_floor: &Polygon, need: &LightNeed) -> Vec<Finding> {
    let survey = site.survey_that_counts().and_then(|survey| light_that_counts(site, survey));
    let found = survey.clone().and_then(|survey| {
        field(survey, zone_floor, need).map(|field| (survey.light_uncertainty_relative(), field))
    });
    let figures = limited_figures(need);
    let mut findings: Vec<_> = match found {
        Ok((relative, field)) => {
            figures.into_iter().map(|figure| figure.judge(need, &field, relative)).collect()
        }
        Err(detail) => figures.into_iter().map(|figure| figure.undecided(detail.clone())).collect(),
    };
    if let Some(range) = need.colour_temperature_k {
        findings.push(colour(survey, need, range));
    }
    findings
}

/// One figure of the light and its limit.
#[derive(Debug, Clone, Copy)]
enum Figure {
    AverageMin(f64),
    AverageMax(f64),
    Minimum(f64),
    Maximum(f64),
    Uniformity(f64),
}

fn limited_figures(need: &LightNeed) -> Vec<Figure> {
    [
        need.average_min_lux.map(Figure::AverageMin),
        need.average_max_lux.map(Figure::AverageMax),
        need.minimum_lux.map(Figure::Minimum),
        need.maximum_lux.map(Figure::Maximum),
        need.uniformity_min.map(Figure::Uniformity),
    ]
    .into_iter()
    .flatten()
    .collect()
}

impl Figure {
    fn judge(self, asked: &LightNeed, field: &LightField, relative: f64) -> Finding {
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
            Self::Maximum(limit) => (
                lux(field.maximum_lux()),
                field.maximum_uncertainty_lux(relative),
                Limits::at_most(limit),
                Detail::TooBright,
            ),
            Self::Uniformity(limit) => (
                Quantity { value: field.uniformity(), unit: Unit::Ratio },
                field.uniformity_uncertainty(relative),
                Limits::at_least(limit),
                Detail::LightUneven,
            ),
        };
        let sure = probability(asked.terms.conformance_probability);
        Finding::judged((self.need(), sure), measured, uncertainty, limits, fails)
    }

    fn undecided(self, detail: Detail) -> Finding {
        let limit = match self {
            Self::AverageMin(value)
            | Self::AverageMax(value)
            | Self::Minimum(value)
            | Self::Maximum(value) => Quantity { value, unit: Unit::Lux },
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
            Self::Maximum(_) => NeedKind::LightMaximum,
            Self::Uniformity(_) => NeedKind::LightUniformity,
        }
    }
}

/// The survey, when its light readings are young enough and were taken with all lamps lit.
fn light_that_counts<'a>(site: &Site<'_>, survey: &'a Survey) -> Result<&'a Survey, Detail> {
    let valid_until = survey.light_valid_until();
    if site.on >= valid_until {
        Err(Detail::LightExpired { valid_until })
    } else if survey.light_conditions().lamps == Some(LampState::SomeOut) {
        Err(Detail::LampsOut)
    } else {
        Ok(survey)
    }
}

/// The light in a zone, or why the readings do not speak for it.
fn field(survey: &Survey, zone_floor: &Polygon, need: &LightNeed) -> Result<LightField, Detail> {
    let (plane, height_mm) = (need.plane, need.height_mm);
    let readings = LightReadings::at(survey, plane, height_mm);
    let asked = Density {
        spacing_max_mm: need.terms.reading_spacing_max_mm.unwrap_or(LIGHT_SPACING_MM_DEFAULT),
        points_min: LIGHT_READINGS_MIN,
        // The outermost readings of a grid stand in the middle of its cells, within the zone.
        between_points: false,
    };
    let found = readings.count_within(zone_floor);
    let gap = gap(readings.surface(), zone_floor, &asked);
    let field = readings.field_over(zone_floor).filter(|_| gap.is_none());
    field.ok_or_else(|| {
        let more = more_places(readings.surface(), zone_floor, &asked);
        let grid = LightGrid::over(zone_floor).map(|(grid, _)| grid);
        match gap {
            Some(Gap::TooWide { at, distance_mm }) => Detail::ReadingsTooSparse {
                at,
                distance_mm,
                distance_max_mm: asked.gap_max_mm(),
                grid,
                more,
            },
            Some(Gap::OnOneLine { .. }) => Detail::ReadingsOnOneLine { found, grid, more },
            Some(Gap::TooFew { .. } | Gap::Outside { .. }) | None => Detail::TooFewReadings {
                found,
                needed: LIGHT_READINGS_MIN,
                plane,
                height_mm,
                grid,
                more,
            },
        }
    })
}

/// The colour temperature is told for the lamps of the bay.
fn colour(survey: Result<&Survey, Detail>, need: &LightNeed, (least, most): (f64, f64)) -> Finding {
    let kelvin = |value: f64| Quantity { value, unit: Unit::Kelvin };
    let told = survey.and_then(|survey| {
        let u = survey.light_conditions().colour_temperature_uncertainty_k;
        survey.colour_temperature_k().map(|told| (told, u)).ok_or(Detail::ColourNotMeasured)
    });
    match told {
        Ok((told, u)) => {
            let limits = Limits { lower: Some(least), upper: Some(most) };
            let sure = probability(need.terms.conformance_probability);
            let about = (NeedKind::ColourTemperature, sure);
            let judged = Finding::judged(about, kelvin(told), u, limits, Detail::ColourOff);
            // Zero means that nobody stated it.
            if u > 0.0 { judged } else { Finding { uncertainty: None, ..judged } }
        }
        Err(detail) => Finding {
            limit: Some(kelvin(least)),
            ..Finding::plain(NeedKind::ColourTemperature, Verdict::Undecided, detail)
        },
    }
}

#[cfg(test)]
mod tests;
