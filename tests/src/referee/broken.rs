//! The rules of the format, one by one, and how a plan broke them.

/// A rule of the format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// The plan has the problem's jobs and steps, each once, with options and whole minutes.
    PlanForm,
    /// A job is left out only where that has a price and no step of it is fixed.
    LeftOut,
    /// A fixed step stands exactly as fixed.
    Fixed,
    /// No step starts before now, its job's release or its own.
    Release,
    /// Every step ends at or before the horizon.
    Horizon,
    /// A step begins inside one of its start windows.
    StartWindow,
    /// A step lies inside one open window of its place.
    PlaceOpen,
    /// A step lies inside one open window of each resource used.
    ResourceOpen,
    /// One resource out of each need, never one for two.
    Needs,
    /// A step starts when those before it have ended and the wait after them is over.
    Order,
    /// One step of a job at a time.
    OneAtATime,
    /// Time to move goes by between different places.
    MoveTime,
    /// A resource serves one step at a time.
    ResourceTwice,
    /// A place holds one vehicle at a time, waits included.
    PlaceTwice,
    /// Clashing places are not held by two jobs at once.
    Clash,
    /// Cost, bound and status are stated as they are.
    StatedCost,
}

/// One broken rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Which.
    pub rule: Rule,
    /// Where and how.
    pub what: String,
}

impl Broken {
    pub(super) fn new(rule: Rule, what: String) -> Self {
        Self { rule, what }
    }
}
