//! Surveys: what was measured in a bay on a day, and what follows from it.

mod record;

pub use record::{HeightPoint, LightReading, SURVEY_POINTS_MAX, Survey, SurveyDraft};
