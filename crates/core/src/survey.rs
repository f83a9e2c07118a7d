//! Surveys: what was measured in a bay on a day, and what follows from it.

mod decision;
mod level_plane;
mod light;
mod normal_quantile;
mod record;
mod wheel_plane;

pub use decision::{
    CONFORMANCE_PROBABILITY_DEFAULT, ConformanceProbability, Decision, Limits, decide,
};
pub use level_plane::{LevelPlane, NoPlane};
pub use light::{LIGHT_HEIGHT_TOLERANCE_MM, LightField, light_within};
pub use record::{HeightPoint, LightReading, SURVEY_POINTS_MAX, Survey, SurveyDraft};
pub use wheel_plane::{WHEEL_RADIUS_MM, WheelPlane};
