//! What a need is judged against: a bay, its survey and the day.

use super::level::LevelAsked;
use super::{Detail, Finding, clear_floor, level, light, surroundings};
use crate::demand::ZoneNeed;
use crate::floor::{Bay, Obstruction};
use crate::region::Polygon;
use crate::survey::Survey;
use chrono::NaiveDate;

/// A bay on a day, with the survey that was given for it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site<'a> {
    pub(super) bay: &'a Bay,
    pub(super) survey: Option<&'a Survey>,
    pub(super) on: NaiveDate,
}

impl<'a> Site<'a> {
    /// Judges one need of a zone where the zone lies on the floor; one finding or more.
    pub(super) fn judge(&self, need: &ZoneNeed, zone_floor: &Polygon) -> Vec<Finding> {
        match need {
            ZoneNeed::ClearFloor { up_to_mm } => clear_floor::zone(self, zone_floor, *up_to_mm),
            ZoneNeed::Level { slope_max_deg, residual_max_mm, terms } => {
                let (slope_max_deg, residual_max_mm, terms) =
                    (*slope_max_deg, *residual_max_mm, *terms);
                level::zone(self, zone_floor, &LevelAsked { slope_max_deg, residual_max_mm, terms })
            }
            ZoneNeed::Light(need) => light::zone(self, zone_floor, need),
            ZoneNeed::NoMetal { up_to_mm } => surroundings::no_metal(self, zone_floor, *up_to_mm),
            ZoneNeed::NoDirectSun { up_to_mm } => vec![surroundings::no_sun(self, *up_to_mm)],
            ZoneNeed::NothingMoving => vec![surroundings::nothing_moving()],
            ZoneNeed::PlainBackground => vec![surroundings::plain_background()],
        }
    }

    /// The survey, if it belongs to the bay and counts on the day; otherwise why not.
    pub(super) fn survey_that_counts(&self) -> Result<&'a Survey, Detail> {
        let survey = self.survey.ok_or(Detail::NotSurveyed)?;
        if survey.bay() != self.bay.id() {
            Err(Detail::SurveyOfOtherBay { bay: survey.bay().clone() })
        } else if survey.outline_has_changed() {
            Err(Detail::OutlineChanged)
        } else if self.on < survey.taken_on() {
            Err(Detail::SurveyNotYetTaken { taken_on: survey.taken_on() })
        } else if survey.counts_on(self.on) {
            Ok(survey)
        } else {
            Err(Detail::SurveyExpired { valid_until: survey.valid_until() })
        }
    }

    /// The obstructions that stand in the bay on the day and reach into heights up to `up_to_mm`.
    pub(super) fn obstructions_up_to(
        &self,
        up_to_mm: f64,
    ) -> impl Iterator<Item = &'a Obstruction> + use<'a> {
        let on = self.on;
        self.bay
            .obstructions()
            .iter()
            .filter(move |one| one.stands_on(on) && one.meets_heights_up_to(up_to_mm))
    }
}
