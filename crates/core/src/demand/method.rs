//! One way of doing a procedure, with everything that it asks for.

use crate::demand::{SunDemand, WorkPlace, Zone, ZoneDraft};
use crate::draft_checks::{at_most, one_line, unique};
use crate::fault::{Fault, FaultList, Faults};
use crate::ids::{MethodId, RoleId, UnitKindId};

/// The most minutes of set-up, run and tear-down together: two days.
pub const METHOD_MINUTES_MAX: u32 = 2_880;
/// The most roles of a method.
pub const ROLES_MAX: usize = 5;
/// The most pieces of equipment of a method.
pub const EQUIPMENT_MAX: usize = 10;
/// The most zones of a method.
pub const ZONES_MAX: usize = 50;

/// The minutes of a method as they were given, not yet checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MethodMinutesDraft {
    /// Before the run: driving in, setting up.
    pub setup_minutes: u32,
    /// The run itself, during which every need holds.
    pub run_minutes: u32,
    /// After the run: taking down, driving out.
    pub teardown_minutes: u32,
}

/// How long a method takes: set-up, run and tear-down, whole minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MethodMinutes(MethodMinutesDraft);

impl MethodMinutes {
    /// Checks and takes the minutes.
    ///
    /// # Errors
    /// A fault when they add up to nothing or to more than [`METHOD_MINUTES_MAX`].
    pub fn new(draft: MethodMinutesDraft) -> Result<Self, Faults> {
        let total = u64::from(draft.setup_minutes)
            + u64::from(draft.run_minutes)
            + u64::from(draft.teardown_minutes);
        if total == 0 || total > u64::from(METHOD_MINUTES_MAX) {
            return Err(Fault::new(
                "",
                format!("{total} in total"),
                format!("add up to 1 to {METHOD_MINUTES_MAX} minutes"),
                "give whole minutes for set-up, run and tear-down",
            )
            .into());
        }
        Ok(Self(draft))
    }

    /// Minutes before the run.
    pub fn setup(&self) -> u32 {
        self.0.setup_minutes
    }

    /// Minutes of the run.
    pub fn run(&self) -> u32 {
        self.0.run_minutes
    }

    /// Minutes after the run.
    pub fn teardown(&self) -> u32 {
        self.0.teardown_minutes
    }

    /// All minutes together; 1 to [`METHOD_MINUTES_MAX`].
    pub fn total(&self) -> u32 {
        self.0.setup_minutes + self.0.run_minutes + self.0.teardown_minutes
    }
}

/// A method as it was given, not yet checked.
#[derive(Debug, Clone, PartialEq)]
pub struct MethodDraft {
    /// Its name, unique within the procedure.
    pub id: MethodId,
    /// What it is called, one line.
    pub title: String,
    /// Where it is done.
    pub place: WorkPlace,
    /// The skills present during the work, one person each; a role may stand twice.
    pub roles: Vec<RoleId>,
    /// The kinds of equipment used, one unit each; a kind may stand twice.
    pub equipment: Vec<UnitKindId>,
    /// How long it takes.
    pub minutes: MethodMinutesDraft,
    /// The regions it asks something of; none unless it is done in a bay.
    pub zones: Vec<ZoneDraft>,
    /// What it asks of the sun besides.
    pub sun: SunDemand,
}

/// One way of doing a procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct Method {
    id: MethodId,
    title: String,
    place: WorkPlace,
    roles: Vec<RoleId>,
    equipment: Vec<UnitKindId>,
    minutes: MethodMinutes,
    zones: Vec<Zone>,
    sun: SunDemand,
}

impl Method {
    /// Checks and takes a method.
    ///
    /// # Errors
    /// Every fault of title, minutes, list lengths and zones; a zone name used twice; zones of a
    /// method that is not done in a bay, because nothing would check them; every fault of what it
    /// asks of the sun.
    pub fn new(draft: MethodDraft) -> Result<Self, Faults> {
        let MethodDraft { id, title, place, roles, equipment, minutes, zones, sun } = draft;
        let mut faults = FaultList::new();
        one_line(&mut faults, "title", &title);
        at_most(&mut faults, "roles", roles.len(), ROLES_MAX);
        at_most(&mut faults, "equipment", equipment.len(), EQUIPMENT_MAX);
        let _checked: Option<MethodMinutes> = faults.take("minutes", MethodMinutes::new(minutes));
        let minutes = MethodMinutes(minutes);
        at_most(&mut faults, "zones", zones.len(), ZONES_MAX);
        unique(&mut faults, "zones", zones.iter().map(|zone| &zone.id));
        if place != WorkPlace::Bay && !zones.is_empty() {
            faults.push(Fault::new(
                "zones",
                format!("a list of {}", zones.len()),
                format!("be empty for work done at the place \"{place}\""),
                "set the place to \"bay\" or leave the zones out",
            ));
        }
        sun.check(&mut faults, place);
        let zones: Vec<_> = zones
            .into_iter()
            .enumerate()
            .filter_map(|(at, zone)| faults.take(&format!("zones[{at}]"), Zone::new(zone)))
            .collect();
        faults.finish(Self { id, title, place, roles, equipment, minutes, zones, sun })
    }

    /// Its name.
    pub fn id(&self) -> &MethodId {
        &self.id
    }

    /// What it is called.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Where it is done.
    pub fn place(&self) -> WorkPlace {
        self.place
    }

    /// The skills present during the work, one person each.
    pub fn roles(&self) -> &[RoleId] {
        &self.roles
    }

    /// The kinds of equipment used, one unit each.
    pub fn equipment(&self) -> &[UnitKindId] {
        &self.equipment
    }

    /// How long it takes.
    pub fn minutes(&self) -> MethodMinutes {
        self.minutes
    }

    /// The regions it asks something of.
    pub fn zones(&self) -> &[Zone] {
        &self.zones
    }

    /// What it asks of the sun besides.
    pub fn sun(&self) -> &SunDemand {
        &self.sun
    }
}
