//! Surveys: what was measured in a bay on a day.

use crate::kinds::{Kind, kind_or, stated_kind};
use crate::reading::{Reading as _, whole};
use crate::time::{date_from, date_text};
use crate::v1;
use baywright_core::demand::LightPlane;
use baywright_core::fault::{FaultList, Faults};
use baywright_core::ids::{BayId, SurveyId};
use baywright_core::survey::{
    HeightErrorsDraft, HeightPoint, LightConditions, LightReading, Survey, SurveyDraft,
};
use chrono::NaiveDate;

impl TryFrom<&v1::Survey> for Survey {
    type Error = Faults;

    fn try_from(message: &v1::Survey) -> Result<Self, Faults> {
        whole(|faults| draft(faults, message), Self::new, |fault| fault)
    }
}

fn draft(faults: &mut FaultList, message: &v1::Survey) -> Option<SurveyDraft> {
    // The stand-ins are in order, whichever of the two dates was refused.
    let taken_on = faults.leaf("taken_on", date_from(&message.taken_on)).unwrap_or(NaiveDate::MIN);
    let valid_until =
        faults.leaf("valid_until", date_from(&message.valid_until)).unwrap_or(NaiveDate::MAX);
    let height = |point: &v1::HeightPoint| {
        let v1::HeightPoint { x_mm, y_mm, height_mm } = *point;
        HeightPoint { x_mm, y_mm, height_mm }
    };
    Some(SurveyDraft {
        id: faults.name("survey_id", &message.survey_id, SurveyId::new)?,
        bay: faults.name("bay_id", &message.bay_id, BayId::new)?,
        taken_on,
        valid_until,
        instrument: message.instrument.clone(),
        height_uncertainty_mm: message.height_uncertainty_mm,
        light_uncertainty_relative: message.light_uncertainty_relative,
        colour_temperature_k: message.colour_temperature_k,
        datum: faults.line_or_empty("datum", &message.datum),
        height_errors: HeightErrorsDraft {
            datum_uncertainty_mm: message.datum_uncertainty_mm,
            correlation: message.height_correlation,
            tilt_uncertainty_mm_per_m: message.tilt_uncertainty_mm_per_m,
        },
        light_conditions: light_conditions(faults, message),
        heights: message.heights.iter().map(height).collect(),
        light: faults.each("light", &message.light, light_reading),
    })
}

fn light_conditions(faults: &mut FaultList, message: &v1::Survey) -> LightConditions {
    let until = &message.light_valid_until;
    LightConditions {
        lamps: faults.take("lamps", stated_kind(message.lamps)).flatten(),
        light_valid_until: (!until.is_empty())
            .then(|| faults.leaf("light_valid_until", date_from(until)))
            .flatten(),
        colour_temperature_uncertainty_k: message.colour_temperature_uncertainty_k,
    }
}

fn light_reading(faults: &mut FaultList, message: &v1::LightReading) -> Option<LightReading> {
    let v1::LightReading { x_mm, y_mm, height_mm, plane, lux } = *message;
    let plane = kind_or(faults, "plane", plane, LightPlane::Horizontal);
    Some(LightReading { x_mm, y_mm, height_mm, plane, lux })
}

impl From<&Survey> for v1::Survey {
    fn from(survey: &Survey) -> Self {
        let height = |point: &HeightPoint| {
            let HeightPoint { x_mm, y_mm, height_mm } = *point;
            v1::HeightPoint { x_mm, y_mm, height_mm }
        };
        let light = |reading: &LightReading| {
            let LightReading { x_mm, y_mm, height_mm, plane, lux } = *reading;
            v1::LightReading { x_mm, y_mm, height_mm, plane: plane.number(), lux }
        };
        let (errors, conditions) = (survey.height_errors_stated(), survey.light_conditions());
        Self {
            survey_id: survey.id().to_string(),
            bay_id: survey.bay().to_string(),
            taken_on: date_text(survey.taken_on()),
            valid_until: date_text(survey.valid_until()),
            instrument: survey.instrument().to_owned(),
            height_uncertainty_mm: survey.height_uncertainty_mm(),
            light_uncertainty_relative: survey.light_uncertainty_relative(),
            colour_temperature_k: survey.colour_temperature_k(),
            datum: survey.datum().to_owned(),
            datum_uncertainty_mm: errors.datum_uncertainty_mm,
            height_correlation: errors.correlation,
            tilt_uncertainty_mm_per_m: errors.tilt_uncertainty_mm_per_m,
            lamps: conditions.lamps.map_or(0, Kind::number),
            light_valid_until: conditions.light_valid_until.map(date_text).unwrap_or_default(),
            colour_temperature_uncertainty_k: conditions.colour_temperature_uncertainty_k,
            heights: survey.heights().iter().map(height).collect(),
            light: survey.light().iter().map(light).collect(),
        }
    }
}
