//! Whether the room of every bay can be computed for every method: what is drawn with far too many inward
//! corners is refused when it is written down.

use super::ShopDefinitionDraft;
use crate::axes::{PoseFloor, PoseFloorDraft};
use crate::demand::{Method, VehicleClass, WorkPlace, Zone, ZoneNeed, ZoneShape};
use crate::fault::{Fault, FaultList};
use crate::floor::Bay;
use crate::region::{CornerCount, HeadingRange, Polygon, SUM_EDGES_MAX};

/// Notes the first method of each bay whose zones take too much to sum up at every heading of the bay's
/// tolerance.
///
/// Zones have the shape that they have for the first class that gives them one.
pub(super) fn check_detail(faults: &mut FaultList, draft: &ShopDefinitionDraft) {
    let mut tolerances: Vec<Swept> = Vec::new();
    for (index, bay) in draft.bays.iter().enumerate() {
        let tolerance_deg = bay.placing().tolerance_deg;
        let known = tolerances.iter().position(|one| one.is_of(tolerance_deg));
        let known = known.unwrap_or_else(|| {
            tolerances.push(Swept::new(draft, tolerance_deg));
            tolerances.len() - 1
        });
        if let Some((at, number, edges)) = tolerances[known].too_much(solids(bay)) {
            faults.push(Fault::new(
                format!("bays[{index}]"),
                format!(
                    "drawn in such detail that the zones of procedures[{at}].methods[{number}] moved \
                     along its outlines have {edges} edges"
                ),
                format!("give at most {SUM_EDGES_MAX}"),
                "draw bay, obstructions or zones with fewer corners, above all inward ones, or allow the \
                 bay's headings less tolerance",
            ));
        }
    }
}

/// What every method of a shop places, at every heading of a tolerance.
struct Swept {
    tolerance_deg: f64,
    /// Per method: its procedure, its number there, and the corners of what it places.
    methods: Vec<(usize, usize, Vec<CornerCount>)>,
}

impl Swept {
    fn new(draft: &ShopDefinitionDraft, tolerance_deg: f64) -> Self {
        let mut methods = Vec::new();
        if let Ok(headings) = HeadingRange::new(0.0, tolerance_deg) {
            for (at, procedure) in draft.procedures.iter().enumerate() {
                for (number, method) in procedure.methods().iter().enumerate() {
                    if method.place() != WorkPlace::Bay {
                        continue;
                    }
                    let zones = zones(method, &draft.vehicle_classes);
                    let corners = zones.iter().flat_map(|one| CornerCount::of_swept(one, headings));
                    methods.push((at, number, corners.collect()));
                }
            }
        }
        Self { tolerance_deg, methods }
    }

    fn is_of(&self, tolerance_deg: f64) -> bool {
        self.tolerance_deg.to_bits() == tolerance_deg.to_bits()
    }

    /// The first method with too many edges: its procedure, its number, the edges.
    fn too_much(&self, solids: CornerCount) -> Option<(usize, usize, usize)> {
        let edges_of = |zones: &[CornerCount]| {
            zones.iter().fold(0_usize, |sum, zone| sum.saturating_add(zone.sum_edges(solids)))
        };
        let mut counted =
            self.methods.iter().map(|(at, number, zones)| (*at, *number, edges_of(zones)));
        counted.find(|(_, _, edges)| *edges > SUM_EDGES_MAX)
    }
}

fn solids(bay: &Bay) -> CornerCount {
    let outlines = bay.obstructions().iter().map(|one| CornerCount::of(one.outline()));
    outlines.fold(CornerCount::outside_of(bay.outline()), CornerCount::and)
}

/// A vehicle's body and every zone of a method that asks for room, in vehicle axes.
fn zones(method: &Method, classes: &[VehicleClass]) -> Vec<Polygon> {
    let Ok(origin) = PoseFloor::new(PoseFloorDraft { x_mm: 0.0, y_mm: 0.0, heading_deg: 0.0 })
    else {
        return Vec::new();
    };
    let asks_for_room =
        |need: &ZoneNeed| matches!(need, ZoneNeed::ClearFloor { .. } | ZoneNeed::NoMetal { .. });
    let shaped = |zone: &Zone| {
        let shape = classes.iter().find_map(|class| zone.shape_for(class).ok())?;
        Some(shape.placed(&origin))
    };
    let zones = method.zones().iter().filter(|zone| zone.needs().iter().any(asks_for_room));
    let body = classes.first().map(|class| ZoneShape::of_body(class).placed(&origin));
    body.into_iter().chain(zones.filter_map(shaped)).collect()
}

#[cfg(test)]
mod tests {
    use crate::demand::{MethodDraft, Procedure, ProcedureDraft, XDatum, YDatum, ZoneVertex};
    use crate::demand::{WorkPlace, ZoneDraft, ZoneNeed};
    use crate::example_shop::{definition_draft, document};
    use crate::fault::Faults;
    use crate::fit::example::{bay, column, method, target_zone};
    use crate::floor::{Bay, BayDraft, ObstructionDraft, Placing};
    use crate::ids::{MethodId, ProcedureId};
    use crate::shop::ShopDefinition;

    /// A flat zigzag 9 m long with so many points along its upper side.
    fn zigzag(points: u32) -> Vec<(f64, f64)> {
        let height = |at: u32| if at.is_multiple_of(2) { 60.0 } else { 20.0 };
        let upper = (0..points)
            .rev()
            .map(|at| (9e3 * f64::from(at) / f64::from(points.saturating_sub(1)), height(at)));
        [(0.0, 0.0), (9e3, 0.0)].into_iter().chain(upper).collect()
    }

    fn shop(
        zone_points: u32,
        obstructions: u32,
        tolerance_deg: f64,
    ) -> Result<ShopDefinition, Faults> {
        let vertex = |(x_mm, y_mm): (f64, f64)| ZoneVertex {
            x_from: XDatum::FrontBumper,
            x_mm,
            y_from: YDatum::Centreline,
            y_mm,
        };
        let needs = vec![ZoneNeed::ClearFloor { up_to_mm: 2_000.0 }];
        let outline = zigzag(zone_points).into_iter().map(vertex).collect();
        let usual = method(needs.clone());
        let procedure = ProcedureDraft {
            id: ProcedureId::new("aim").unwrap(),
            title: "aim".to_owned(),
            kind: crate::demand::TaskKind::Glass,
            sensor: None,
            document: document(),
            methods: vec![MethodDraft {
                id: MethodId::new("static").unwrap(),
                title: "usual way".to_owned(),
                place: WorkPlace::Bay,
                roles: vec![],
                equipment: vec![],
                minutes: crate::demand::MethodMinutesDraft {
                    setup_minutes: usual.minutes().setup(),
                    run_minutes: usual.minutes().run(),
                    teardown_minutes: usual.minutes().teardown(),
                },
                zones: vec![ZoneDraft { outline, ..target_zone(needs) }],
                sun: crate::demand::SunDemand::default(),
            }],
            start_checks: vec![],
        };
        let obstruction = |at: u32| ObstructionDraft {
            outline_mm: zigzag(400),
            ..column(&format!("shelf-{at}"), 0.0, 0.0)
        };
        let bay = BayDraft { obstructions: (0..obstructions).map(obstruction).collect(), ..bay() };
        let mut draft = definition_draft();
        let placing = Placing { tolerance_deg, ..Placing::default() };
        draft.bays = vec![Bay::with_placing(bay, placing)?];
        draft.procedures.push(Procedure::new(procedure)?);
        ShopDefinition::new(draft)
    }

    #[test]
    fn a_bay_in_too_much_detail_for_a_zone_is_refused_with_both_named() {
        let faults = shop(90, 10, 0.0).unwrap_err();
        let [fault] = faults.list() else { panic!("{faults}") };
        assert_eq!(fault.field, "bays[0]");
        assert!(fault.to_string().contains("the zones of procedures["), "{fault}");
        // The same bay does for a plain zone, and the same zone for a plain bay.
        shop(4, 10, 0.0).unwrap();
        shop(90, 1, 0.0).unwrap();
    }

    #[test]
    fn a_tolerance_of_the_headings_counts_too() {
        shop(60, 3, 0.0).unwrap();
        let faults = shop(60, 3, 5.0).unwrap_err();
        assert!(faults.to_string().contains("less tolerance"), "{faults}");
    }
}
