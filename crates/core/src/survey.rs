//! Surveys: what was measured in a bay on a day, and what follows from it.

mod coverage;
mod decision;
mod floor_numbers;
mod height_errors;
mod inclination;
mod level_line;
mod level_plane;
mod light;
mod light_grid;
mod normal_quantile;
mod normal_tail;
mod record;
mod steepest_slope;
mod surface;
mod wheel_plane;

pub use coverage::{Density, Gap, MORE_PLACES_MAX, MorePlaces, gap, more_places};
pub use decision::{
    CONFORMANCE_PROBABILITY_DEFAULT, ConformanceProbability, Decision, Limits,
    conformance_probability, decide, decide_largest,
};
pub use floor_numbers::{FloorNumber, FloorNumbers};
pub use height_errors::{HeightErrors, HeightErrorsDraft, Term};
pub use inclination::{Inclination, TwoReadings};
pub use level_line::LevelLine;
pub use level_plane::{LevelPlane, NoPlane};
pub use light::{LIGHT_HEIGHT_TOLERANCE_MM, LightField, LightReadings};
pub use light_grid::{LightGrid, PointSource, grid_spacing_m, horizontal_lux};
pub use record::{
    HeightPoint, LampState, LightConditions, LightReading, SURVEY_POINTS_MAX, Survey, SurveyDraft,
};
pub use steepest_slope::{SLOPE_TRIALS, SlopeDistribution};
pub use surface::{HULL_TOLERANCE_MM, Node, SAME_PLACE_MM, Shares, Surface};
pub use wheel_plane::{HeightAboveVehicle, WHEEL_RADIUS_MM, WheelPlane};
