//! What may be supposed of a shop, and the copy of the shop in which it is so.

use super::{ClosedBay, free_name};
use crate::calendar::Window;
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{JobId, ProcedureId, TechnicianId, UnitId, VehicleClassId};
use crate::shop::{ShopDefinition, Technician, Unit};
use crate::shop_day::ShopState;
use crate::work::{Job, JobState, TaskState, Whereabouts};
use std::collections::BTreeSet;

/// The most things that are supposed at once.
pub const SUPPOSED_MAX: usize = 20;
/// The most by which a mix of jobs grows, percent.
pub const GROWTH_PERCENT_MAX: u32 = 300;

/// One thing that is supposed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Supposed {
    /// No work goes on in a bay for a time.
    BayClosed(ClosedBay),
    /// There is another technician with the roles and the shift of this one.
    TechnicianMore {
        /// Like whom.
        like: TechnicianId,
    },
    /// There is another unit of the kind, verification and absences of this one, of one piece.
    UnitMore {
        /// Like which.
        like: UnitId,
    },
    /// There are more jobs of a kind: copies of those on which no work has begun.
    WorkGrown {
        /// By how much, percent, from 1.
        percent: u32,
        /// Only jobs with a task of this procedure.
        procedure: Option<ProcedureId>,
        /// Only jobs of vehicles of this class.
        class: Option<VehicleClassId>,
    },
}

/// A copy of a shop in which everything that is supposed is so.
#[derive(Debug)]
pub(super) struct Changed {
    pub(super) shop: ShopDefinition,
    pub(super) jobs: Vec<Job>,
    pub(super) closed: Vec<ClosedBay>,
    pub(super) sentences: Vec<String>,
}

impl Changed {
    /// The copy; every fault at once, by the place of what is supposed in the list.
    pub(super) fn of(state: &ShopState<'_>, supposed: &[Supposed]) -> Result<Self, Faults> {
        let mut faults = FaultList::new();
        if supposed.is_empty() || supposed.len() > SUPPOSED_MAX {
            let limit = format!("hold 1 to {SUPPOSED_MAX} things that are supposed");
            faults.push(Fault::new("", supposed.len(), limit, "ask about a few things at once"));
        }
        faults.finish(())?;
        let mut faults = FaultList::new();
        let mut changed = Self {
            shop: state.shop.clone(),
            jobs: state.jobs.to_vec(),
            closed: state.closed.to_vec(),
            sentences: Vec::new(),
        };
        for (index, one) in supposed.iter().enumerate() {
            let made = match one {
                Supposed::BayClosed(closed) => changed.close(closed),
                Supposed::TechnicianMore { like } => changed.add_technician(like),
                Supposed::UnitMore { like } => changed.add_unit(like),
                Supposed::WorkGrown { percent, procedure, class } => {
                    changed.grow(state, *percent, (procedure.as_ref(), class.as_ref()))
                }
            };
            let sentence = faults.take(&format!("[{index}]"), made);
            changed.sentences.extend(sentence);
        }
        faults.finish(changed)
    }

    fn close(&mut self, closed: &ClosedBay) -> Result<String, Faults> {
        let ClosedBay { bay, window } = closed;
        if self.shop.bay(bay).is_none() {
            return Err(unknown("bay_closed.bay_id", bay, "a bay"));
        }
        self.closed.push(closed.clone());
        Ok(format!("No work goes on in bay {bay} {}.", self.span(*window)))
    }

    fn add_technician(&mut self, like: &TechnicianId) -> Result<String, Faults> {
        let mut draft = self.shop.parts().clone();
        let Some(model) = draft.technicians.iter().find(|one| one.id() == like) else {
            return Err(unknown("technician_more.like_technician_id", like, "a technician"));
        };
        let mut parts = model.parts().clone();
        let taken = draft.technicians.iter().map(|one| one.id().as_str()).collect();
        parts.id = TechnicianId::new(free_name(&taken, like.as_str()))?;
        let sentence = format!("There is one technician more, {}, like {like}.", parts.id);
        draft.technicians.push(Technician::new(parts)?);
        self.shop = ShopDefinition::new(draft)?;
        Ok(sentence)
    }

    fn add_unit(&mut self, like: &UnitId) -> Result<String, Faults> {
        let mut draft = self.shop.parts().clone();
        let Some(model) = draft.units.iter().find(|one| one.id() == like) else {
            return Err(unknown("unit_more.like_unit_id", like, "a unit"));
        };
        let mut parts = model.parts().clone();
        let taken = draft.units.iter().map(|one| one.id().as_str()).collect();
        parts.id = UnitId::new(free_name(&taken, like.as_str()))?;
        parts.count = 1;
        let sentence = format!("There is one unit of kind {} more, {}.", parts.kind, parts.id);
        draft.units.push(Unit::new(parts)?);
        self.shop = ShopDefinition::new(draft)?;
        Ok(sentence)
    }

    fn grow(
        &mut self,
        state: &ShopState<'_>,
        percent: u32,
        (procedure, class): (Option<&ProcedureId>, Option<&VehicleClassId>),
    ) -> Result<String, Faults> {
        if !(1..=GROWTH_PERCENT_MAX).contains(&percent) {
            let limit = format!("be 1 to {GROWTH_PERCENT_MAX} percent");
            let fault = Fault::new("work_grown.percent", percent, limit, "correct the number");
            return Err(fault.into());
        }
        if let Some(procedure) = procedure.filter(|id| state.shop.procedure(id).is_none()) {
            return Err(unknown("work_grown.procedure_id", procedure, "a procedure"));
        }
        if let Some(class) = class.filter(|id| state.shop.vehicle_class(id).is_none()) {
            return Err(unknown("work_grown.vehicle_class_id", class, "a vehicle class"));
        }
        let mut models: Vec<&Job> = state
            .jobs
            .iter()
            .filter(|job| is_fresh(job) && is_of_kind(job, procedure, class))
            .collect();
        models.sort_by(|one, other| (one.promise_at, &one.id).cmp(&(other.promise_at, &other.id)));
        let of_kind = of_kind(procedure, class);
        if models.is_empty() {
            let limit = format!("find a job{of_kind} on which no work has begun, to be copied");
            let remedy = "ask about other work, or once such a job is expected";
            return Err(Fault::new("work_grown", "none", limit, remedy).into());
        }
        // Rounded to the nearest, and one at least: who asks wants to see a difference.
        let more = ((models.len() * percent as usize + 50) / 100).max(1);
        for index in 0..more {
            let model = models[index * models.len() / more % models.len()];
            let copy = copy_of(model, &self.jobs)?;
            self.jobs.push(copy);
        }
        let many = models.len();
        Ok(format!(
            "There are {more} jobs{of_kind} more, copies of {many} not begun (+{percent} %)."
        ))
    }

    fn span(&self, window: Window) -> String {
        let zone = self.shop.parts().shop.parts().hours.zone();
        let show = |at| zone.local(at).format("%Y-%m-%d %H:%M").to_string();
        format!("from {} until {}", show(window.start()), show(window.end()))
    }
}

fn unknown(field: &str, name: impl std::fmt::Display, what: &str) -> Faults {
    let limit = format!("name {what} of this shop");
    Fault::new(field, name, limit, "check the name in the shop file").into()
}

fn of_kind(procedure: Option<&ProcedureId>, class: Option<&VehicleClassId>) -> String {
    let procedure = procedure.map(|id| format!(" with {id}")).unwrap_or_default();
    let class = class.map(|id| format!(" of class {id}")).unwrap_or_default();
    procedure + &class
}

/// Whether no work on the job has begun, so that a copy of it is a job as it comes.
fn is_fresh(job: &Job) -> bool {
    let untouched = |state| {
        matches!(
            state,
            TaskState::Proposed | TaskState::Open | TaskState::Declined | TaskState::Cancelled
        )
    };
    matches!(job.state, JobState::Expected | JobState::OnSite)
        && job.tasks.iter().any(|task| task.state == TaskState::Open)
        && job.tasks.iter().all(|task| untouched(task.state))
}

fn is_of_kind(job: &Job, procedure: Option<&ProcedureId>, class: Option<&VehicleClassId>) -> bool {
    let has = |id: &ProcedureId| {
        job.tasks.iter().any(|task| task.procedure == *id && task.state == TaskState::Open)
    };
    procedure.is_none_or(has) && class.is_none_or(|id| job.vehicle.class == *id)
}

fn copy_of(model: &Job, jobs: &[Job]) -> Result<Job, Faults> {
    let taken: BTreeSet<&str> = jobs.iter().map(|job| job.id.as_str()).collect();
    let mut copy = model.clone();
    copy.id = JobId::new(free_name(&taken, model.id.as_str()))?;
    copy.vehicle.vin = None;
    // Two vehicles never stand at one place.
    if matches!(copy.whereabouts, Some(Whereabouts::Place(_))) {
        copy.whereabouts = None;
    }
    Ok(copy)
}
