//! The minutes that work takes: those that are written down, beside those of past attempts.
//!
//! Past minutes are used only where somebody asks for them, and only of a method of which enough attempts
//! passed; then each piece of work takes what one of them took, drawn at random. Who did it is shown,
//! but not drawn by: the plan chooses the people.

use super::ForecastAsked;
use super::quantile::ranked;
use crate::demand::Method;
use crate::ids::{MethodId, ProcedureId, TechnicianId};
use crate::planner::Seeded;
use std::collections::{BTreeMap, BTreeSet};

/// Fewer attempts of a method than these say too little to be drawn from (common practice, no source).
pub const PAST_ATTEMPTS_MIN: usize = 5;

/// An attempt of the past that passed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attempt {
    /// The procedure.
    pub procedure: ProcedureId,
    /// The method.
    pub method: MethodId,
    /// Who did it.
    pub technicians: Vec<TechnicianId>,
    /// Minutes from its start to its end, without interruptions; at least 1 counts.
    pub minutes: u32,
}

/// What several attempts took.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spread {
    /// How many they are.
    pub attempts: usize,
    /// The median, minutes.
    pub median: u32,
    /// A tenth of them took no more minutes.
    pub p10: u32,
    /// Nine tenths of them took no more minutes.
    pub p90: u32,
}

/// Minutes of past attempts by procedure and method.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PastMinutes(BTreeMap<(ProcedureId, MethodId), Vec<Taken>>);

/// Minutes of an attempt, and who did it.
type Taken = (u32, Vec<TechnicianId>);

/// The minutes of a method that were counted with, beside those of the past.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MinutesUsed {
    /// The procedure.
    pub procedure: ProcedureId,
    /// The method.
    pub method: MethodId,
    /// What is written down: set-up, run and tear-down together.
    pub written: u32,
    /// What attempts of the past took; none where there are none.
    pub past: Option<Spread>,
    /// The same by technician.
    pub by_technician: Vec<(TechnicianId, Spread)>,
    /// Whether the forecast drew from the past.
    pub used_past: bool,
}

impl PastMinutes {
    /// Sorts attempts by what they were.
    pub fn of(attempts: impl IntoIterator<Item = Attempt>) -> Self {
        let mut by_method: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for one in attempts {
            let taken = (one.minutes.max(1), one.technicians);
            by_method.entry((one.procedure, one.method)).or_default().push(taken);
        }
        for all in by_method.values_mut() {
            all.sort();
        }
        Self(by_method)
    }

    fn of_method(&self, key: &(ProcedureId, MethodId)) -> &[Taken] {
        self.0.get(key).map_or(&[], Vec::as_slice)
    }

    /// Minutes drawn from the past of a method; none where there is too little of it.
    pub(super) fn draw(&self, key: &(ProcedureId, MethodId), random: &mut Seeded) -> Option<u32> {
        let all = self.of_method(key);
        (all.len() >= PAST_ATTEMPTS_MIN).then(|| all[random.below(all.len())].0)
    }
}

impl Spread {
    /// Of minutes in ascending order; none where there are none.
    fn of(sorted: &[u32]) -> Option<Self> {
        (!sorted.is_empty()).then(|| Self {
            attempts: sorted.len(),
            median: ranked(sorted, 50),
            p10: ranked(sorted, 10),
            p90: ranked(sorted, 90),
        })
    }
}

/// The minutes of every method of the mix.
pub(super) fn used(asked: &ForecastAsked<'_>) -> Vec<MinutesUsed> {
    let procedures: BTreeSet<&ProcedureId> = asked.mix.iter().map(|one| &one.procedure).collect();
    let known = procedures.into_iter().filter_map(|id| asked.shop.procedure(id));
    known
        .flat_map(|procedure| {
            let of = |method: &Method| of_method(asked, procedure.id(), method);
            procedure.methods().iter().map(of).collect::<Vec<_>>()
        })
        .collect()
}

fn of_method(asked: &ForecastAsked<'_>, procedure: &ProcedureId, method: &Method) -> MinutesUsed {
    let key = (procedure.clone(), method.id().clone());
    let all = asked.past.of_method(&key);
    let minutes = |of: &dyn Fn(&[TechnicianId]) -> bool| -> Vec<u32> {
        all.iter().filter(|(_, people)| of(people)).map(|(minutes, _)| *minutes).collect()
    };
    let people: BTreeSet<&TechnicianId> = all.iter().flat_map(|(_, people)| people).collect();
    let by_technician = people.into_iter().filter_map(|id| {
        let spread = Spread::of(&minutes(&|people| people.contains(id)))?;
        Some((id.clone(), spread))
    });
    MinutesUsed {
        written: method.minutes().total(),
        past: Spread::of(&minutes(&|_| true)),
        by_technician: by_technician.collect(),
        used_past: asked.use_past && all.len() >= PAST_ATTEMPTS_MIN,
        procedure: key.0,
        method: key.1,
    }
}

/// A whole number of minutes as a number to count on with; exact up to thousands of years.
pub(super) fn as_f64(minutes: i64) -> f64 {
    let clipped = minutes.clamp(i64::from(i32::MIN), i64::from(i32::MAX));
    i32::try_from(clipped).map_or(0.0, f64::from)
}
