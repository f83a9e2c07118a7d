//! What was measured in a bay on a day: floor heights and light readings, with their uncertainty.
//!
//! It expires. A figure is only as good as its instrument, so the uncertainties are asked for and
//! zero is refused.

use super::light::PlaneOfLight;
use super::{HeightErrors, HeightErrorsDraft, Surface};
use crate::axes::{FLOOR_COORDINATE_MM_MAX, PointFloor};
use crate::demand::LightPlane;
use crate::demand::kinds::kinds;
use crate::draft_checks::{at_most, dates_in_order, one_line};
use crate::fault::{Fault, FaultList, Faults};
use crate::floor::Bay;
use crate::ids::{BayId, SurveyId};
use chrono::NaiveDate;

/// The most height points and light readings of a survey together.
pub const SURVEY_POINTS_MAX: usize = 20_000;

/// One measured height of the floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightPoint {
    /// Floor x, millimetres.
    pub x_mm: f64,
    /// Floor y, millimetres.
    pub y_mm: f64,
    /// Above the survey's datum, -500 to 500 mm.
    pub height_mm: f64,
}

/// One reading of a light meter, lamps on and doors closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightReading {
    /// Floor x, millimetres.
    pub x_mm: f64,
    /// Floor y, millimetres.
    pub y_mm: f64,
    /// Above the floor, 0 to 10000 mm.
    pub height_mm: f64,
    /// The plane in which the meter's sensor lay.
    pub plane: LightPlane,
    /// Illuminance, 0 to 200000 lux.
    pub lux: f64,
}

kinds! {
    /// How the lamps were when the light was read.
    LampState ("lamps") {
        /// All lit, warmed up and whole.
        AllOn = "all-on",
        /// Some dark, dimmed or broken.
        SomeOut = "some-out",
    }
}

/// What a survey states about its light readings beside their uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LightConditions {
    /// How the lamps were; none where nobody wrote it down, which counts as all on.
    pub lamps: Option<LampState>,
    /// The first day on which the light readings no longer count, where that is before the survey's:
    /// lamps age faster than floors.
    pub light_valid_until: Option<NaiveDate>,
    /// Standard uncertainty of the colour temperature, 0 to 2000 kelvin; 0 where nobody stated it.
    pub colour_temperature_uncertainty_k: f64,
}

/// A survey as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyDraft {
    /// Its name.
    pub id: SurveyId,
    /// The bay in which it was taken.
    pub bay: BayId,
    /// The day on which it was taken.
    pub taken_on: NaiveDate,
    /// The first day on which it no longer counts.
    pub valid_until: NaiveDate,
    /// What it was taken with, one line.
    pub instrument: String,
    /// Standard uncertainty of a height, 0.001 to 100 mm.
    pub height_uncertainty_mm: f64,
    /// Standard uncertainty of a light reading relative to it, 0.0001 to 1; 0 where there is none.
    pub light_uncertainty_relative: f64,
    /// Colour temperature of the lamps where it is known, 1000 to 20000 kelvin.
    pub colour_temperature_k: Option<f64>,
    /// What the heights are counted from, one line; empty where nobody wrote it down.
    pub datum: String,
    /// What is stated about the errors of the heights.
    pub height_errors: HeightErrorsDraft,
    /// What is stated about the light readings.
    pub light_conditions: LightConditions,
    /// The measured heights.
    pub heights: Vec<HeightPoint>,
    /// The light readings.
    pub light: Vec<LightReading>,
}

/// What was measured in a bay on a day.
#[derive(Debug, Clone)]
pub struct Survey {
    draft: SurveyDraft,
    outline_changed: bool,
    /// The surfaces through heights and readings, which follow from the draft.
    floor: Surface,
    light: Vec<PlaneOfLight>,
}

impl PartialEq for Survey {
    fn eq(&self, other: &Self) -> bool {
        self.draft == other.draft && self.outline_changed == other.outline_changed
    }
}

impl Survey {
    /// Checks and takes a survey.
    ///
    /// # Errors
    /// Every fault of dates, instrument, uncertainties, points and readings; a survey without a
    /// single point; one with more than [`SURVEY_POINTS_MAX`].
    pub fn new(draft: SurveyDraft) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        dates_in_order(&mut faults, "valid_until", draft.taken_on, draft.valid_until);
        one_line(&mut faults, "instrument", &draft.instrument);
        let height_u = draft.height_uncertainty_mm;
        faults.number_within("height_uncertainty_mm", height_u, 0.001, 100.0, "mm");
        let light_u = draft.light_uncertainty_relative;
        let least = if draft.light.is_empty() { 0.0 } else { 0.000_1 };
        faults.number_within("light_uncertainty_relative", light_u, least, 1.0, "of the reading");
        if let Some(kelvin) = draft.colour_temperature_k {
            faults.number_within("colour_temperature_k", kelvin, 1_000.0, 20_000.0, "K");
        }
        let _checked: Option<()> = faults.take("", draft.height_errors.check());
        check_conditions(&mut faults, &draft);
        let points = draft.heights.len() + draft.light.len();
        if points == 0 {
            faults.push(Fault::new(
                "heights",
                "empty, as is the list of light readings",
                "hold at least one point",
                "enter what was measured",
            ));
        }
        at_most(&mut faults, "heights", points, SURVEY_POINTS_MAX);
        for (at, point) in draft.heights.iter().enumerate().take(SURVEY_POINTS_MAX) {
            let _checked: Option<()> = faults.take(&format!("heights[{at}]"), check_height(point));
        }
        for (at, reading) in draft.light.iter().enumerate().take(SURVEY_POINTS_MAX) {
            let _checked: Option<()> = faults.take(&format!("light[{at}]"), check_light(reading));
        }
        // Surfaces are made of what was accepted only.
        faults.finish(())?;
        Ok(Self::accepted(draft, false))
    }

    fn accepted(draft: SurveyDraft, outline_changed: bool) -> Self {
        let place = |point: &HeightPoint| PointFloor { x_mm: point.x_mm, y_mm: point.y_mm };
        let heights = draft.heights.iter();
        let floor = Surface::through(heights.map(|point| (place(point), point.height_mm)));
        let light = PlaneOfLight::of_all(&draft.light);
        Self { draft, outline_changed, floor, light }
    }

    /// Checks that the survey belongs to a bay and that each of its points lies in it.
    ///
    /// # Errors
    /// A fault for another bay's name and one for every point outside of the bay's outline.
    pub fn check_against(&self, bay: &Bay) -> Result<(), Faults> {
        let mut faults = FaultList::new();
        if self.bay() != bay.id() {
            faults.push(Fault::new(
                "bay",
                self.bay(),
                format!("be {}, the bay it is checked against", bay.id()),
                "choose the bay in which the survey was taken",
            ));
        }
        let heights = self.heights().iter().map(|point| (point.x_mm, point.y_mm));
        let light = self.light().iter().map(|reading| (reading.x_mm, reading.y_mm));
        let named = heights
            .enumerate()
            .map(|(at, point)| (format!("heights[{at}]"), point))
            .chain(light.enumerate().map(|(at, point)| (format!("light[{at}]"), point)));
        for (field, (x_mm, y_mm)) in named {
            if !bay.outline().contains(PointFloor { x_mm, y_mm }) {
                faults.push(Fault::new(
                    field,
                    format!("at x {x_mm} mm, y {y_mm} mm"),
                    format!("lie inside of the outline of {}", bay.id()),
                    "measure x and y in floor axes, in millimetres",
                ));
            }
        }
        faults.finish(())
    }

    /// The survey as it would be with other figures, which must keep the ranges of [`Survey::new`].
    pub(crate) fn changed(&self, change: impl FnOnce(&mut SurveyDraft)) -> Self {
        let mut draft = self.draft.clone();
        change(&mut draft);
        Self::accepted(draft, self.outline_changed)
    }

    /// The survey as if it were taken in the bay as it is drawn now.
    pub(crate) fn taken_anew(self) -> Self {
        Self { outline_changed: false, ..self }
    }

    /// The survey, now that the outline of its bay has changed: its points are counted from marks that
    /// may have moved, so it decides nothing any more.
    #[must_use]
    pub fn after_change_of_outline(self) -> Self {
        Self { outline_changed: true, ..self }
    }

    /// Whether the bay's outline has changed since the survey.
    pub fn outline_has_changed(&self) -> bool {
        self.outline_changed
    }

    /// Whether the survey counts on a day.
    pub fn counts_on(&self, day: NaiveDate) -> bool {
        !self.outline_changed && self.draft.taken_on <= day && day < self.draft.valid_until
    }

    /// Its name.
    pub fn id(&self) -> &SurveyId {
        &self.draft.id
    }

    /// The bay in which it was taken.
    pub fn bay(&self) -> &BayId {
        &self.draft.bay
    }

    /// The day on which it was taken.
    pub fn taken_on(&self) -> NaiveDate {
        self.draft.taken_on
    }

    /// The first day on which it no longer counts.
    pub fn valid_until(&self) -> NaiveDate {
        self.draft.valid_until
    }

    /// What it was taken with.
    pub fn instrument(&self) -> &str {
        &self.draft.instrument
    }

    /// Standard uncertainty of a height, millimetres.
    pub fn height_uncertainty_mm(&self) -> f64 {
        self.draft.height_uncertainty_mm
    }

    /// Standard uncertainty of a light reading relative to it.
    pub fn light_uncertainty_relative(&self) -> f64 {
        self.draft.light_uncertainty_relative
    }

    /// Colour temperature of the lamps where it is known, kelvin.
    pub fn colour_temperature_k(&self) -> Option<f64> {
        self.draft.colour_temperature_k
    }

    /// What the heights are counted from; empty where nobody wrote it down.
    pub fn datum(&self) -> &str {
        &self.draft.datum
    }

    /// The errors of the heights.
    pub fn height_errors(&self) -> HeightErrors {
        HeightErrors::new(self.draft.height_uncertainty_mm, &self.draft.height_errors)
    }

    /// What is stated about the errors of the heights.
    pub fn height_errors_stated(&self) -> &HeightErrorsDraft {
        &self.draft.height_errors
    }

    /// What is stated about the light readings.
    pub fn light_conditions(&self) -> &LightConditions {
        &self.draft.light_conditions
    }

    /// The first day on which the light readings no longer count.
    pub fn light_valid_until(&self) -> NaiveDate {
        self.draft.light_conditions.light_valid_until.unwrap_or(self.draft.valid_until)
    }

    /// The surface through the measured heights.
    pub fn floor(&self) -> &Surface {
        &self.floor
    }

    pub(super) fn planes_of_light(&self) -> &[PlaneOfLight] {
        &self.light
    }

    /// The measured heights.
    pub fn heights(&self) -> &[HeightPoint] {
        &self.draft.heights
    }

    /// The light readings.
    pub fn light(&self) -> &[LightReading] {
        &self.draft.light
    }
}

fn check_conditions(faults: &mut FaultList, draft: &SurveyDraft) {
    let stated = &draft.light_conditions;
    let kelvin_u = stated.colour_temperature_uncertainty_k;
    faults.number_within("colour_temperature_uncertainty_k", kelvin_u, 0.0, 2_000.0, "K");
    if let Some(until) = stated.light_valid_until {
        dates_in_order(faults, "light_valid_until", draft.taken_on, until);
        if until > draft.valid_until {
            faults.push(Fault::new(
                "light_valid_until",
                until,
                format!("not be later than {}, when the survey itself ends", draft.valid_until),
                "name an earlier day or leave it out",
            ));
        }
    }
}

fn check_height(point: &HeightPoint) -> Result<(), Faults> {
    let mut faults = FaultList::new();
    let most = FLOOR_COORDINATE_MM_MAX;
    faults.number_within("x_mm", point.x_mm, -most, most, "mm");
    faults.number_within("y_mm", point.y_mm, -most, most, "mm");
    faults.number_within("height_mm", point.height_mm, -500.0, 500.0, "mm");
    faults.finish(())
}

fn check_light(reading: &LightReading) -> Result<(), Faults> {
    let mut faults = FaultList::new();
    let most = FLOOR_COORDINATE_MM_MAX;
    faults.number_within("x_mm", reading.x_mm, -most, most, "mm");
    faults.number_within("y_mm", reading.y_mm, -most, most, "mm");
    faults.number_within("height_mm", reading.height_mm, 0.0, 10_000.0, "mm");
    faults.number_within("lux", reading.lux, 0.0, 200_000.0, "lux");
    faults.finish(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draft() -> SurveyDraft {
        SurveyDraft {
            id: SurveyId::new("survey-1").unwrap(),
            bay: BayId::new("bay-1").unwrap(),
            taken_on: "2026-01-10".parse().unwrap(),
            valid_until: "2027-01-10".parse().unwrap(),
            instrument: "invented level".to_owned(),
            height_uncertainty_mm: 0.5,
            light_uncertainty_relative: 0.03,
            colour_temperature_k: None,
            datum: String::new(),
            height_errors: HeightErrorsDraft::default(),
            light_conditions: LightConditions::default(),
            heights: vec![HeightPoint { x_mm: 1.0, y_mm: 2.0, height_mm: 3.0 }],
            light: vec![],
        }
    }

    #[test]
    fn a_survey_counts_from_the_day_it_was_taken_to_the_day_before_it_expires() {
        let survey = Survey::new(draft()).unwrap();
        let counts = |day: &str| survey.counts_on(day.parse().unwrap());
        let found = ["2026-01-09", "2026-01-10", "2027-01-09", "2027-01-10"].map(counts);
        assert_eq!(found, [false, true, true, false]);
    }

    #[test]
    fn a_survey_is_refused_with_the_path_to_every_fault() {
        let mut bad = draft();
        bad.valid_until = bad.taken_on;
        bad.instrument = String::new();
        bad.height_uncertainty_mm = 0.0;
        bad.light_uncertainty_relative = f64::NAN;
        bad.height_errors.correlation = 1.0;
        bad.height_errors.tilt_uncertainty_mm_per_m = -1.0;
        bad.light_conditions.light_valid_until = Some("2028-01-01".parse().unwrap());
        bad.heights.push(HeightPoint { x_mm: 1.0, y_mm: f64::NAN, height_mm: 4_120.0 });
        bad.light.push(LightReading {
            x_mm: 0.0,
            y_mm: 0.0,
            height_mm: -1.0,
            plane: LightPlane::Vertical,
            lux: -0.1,
        });
        let faults = Survey::new(bad).unwrap_err();
        let fields: Vec<_> = faults.list().iter().map(|fault| fault.field.as_str()).collect();
        assert_eq!(
            fields,
            [
                "valid_until",
                "instrument",
                "height_uncertainty_mm",
                "light_uncertainty_relative",
                "height_correlation",
                "tilt_uncertainty_mm_per_m",
                "light_valid_until",
                "heights[1].y_mm",
                "heights[1].height_mm",
                "light[0].height_mm",
                "light[0].lux"
            ]
        );
    }

    #[test]
    fn a_survey_holds_from_one_point_to_the_limit() {
        let with = |count: usize| {
            let point = HeightPoint { x_mm: 1.0, y_mm: 2.0, height_mm: 3.0 };
            Survey::new(SurveyDraft { heights: vec![point; count], ..draft() })
        };
        assert!(with(0).is_err());
        assert!(with(SURVEY_POINTS_MAX).is_ok());
        assert!(with(SURVEY_POINTS_MAX + 1).is_err());
    }
}
