//! What holds for any fit: it depends neither on the axes of the plan nor on the order of anything,
//! and worse never becomes better.

use super::example::*;
use super::*;
use crate::axes::{PoseFloor, PoseFloorDraft};
use crate::floor::{BayDraft, ObstructionDraft};
use crate::survey::SurveyDraft;
use proptest::prelude::*;

/// A plan: one bay with columns and stations, and its survey.
#[derive(Debug, Clone)]
struct Plan {
    bay: BayDraft,
    survey: SurveyDraft,
}

impl Plan {
    fn fit(&self, needs: Vec<ZoneNeed>) -> Fit {
        let bay = Bay::new(self.bay.clone()).unwrap();
        let survey = Survey::new(self.survey.clone()).unwrap();
        fit(&method(needs), &saloon(), &bay, Some(&survey), today())
    }

    /// Everything turned around the floor's origin.
    fn turned(&self, angle_deg: f64) -> Self {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let turn = |x: f64, y: f64| (cos * x - sin * y, sin * x + cos * y);
        let mut turned = self.clone();
        let outlines = turned.bay.obstructions.iter_mut().map(|one| &mut one.outline_mm);
        for outline in outlines.chain([&mut turned.bay.outline_mm]) {
            for vertex in outline {
                *vertex = turn(vertex.0, vertex.1);
            }
        }
        for station in &mut turned.bay.stations {
            let pose = station.pose;
            let (x_mm, y_mm) = turn(pose.x_mm(), pose.y_mm());
            let heading_deg = (pose.heading_deg() + angle_deg) % 360.0;
            station.pose = PoseFloor::new(PoseFloorDraft { x_mm, y_mm, heading_deg }).unwrap();
        }
        for point in &mut turned.survey.heights {
            (point.x_mm, point.y_mm) = turn(point.x_mm, point.y_mm);
        }
        for reading in &mut turned.survey.light {
            (reading.x_mm, reading.y_mm) = turn(reading.x_mm, reading.y_mm);
        }
        turned
    }
}

fn kind(fit: &Fit) -> &'static str {
    match fit {
        Fit::Fits(_) => "fits",
        Fit::DoesNotFit(_) => "does not fit",
        Fit::Undecided(_) => "undecided",
        Fit::NeedsNoBay => "needs no bay",
    }
}

/// Columns and one station anywhere in the bay; figures with decimals, so that no edge lies
/// exactly on another one.
fn plans() -> impl Strategy<Value = Plan> {
    let columns = prop::collection::vec((100.0..8_400.0_f64, 100.0..5_400.0_f64), 0..4);
    let pose = (2_500.0..5_200.0_f64, 1_600.0..4_400.0_f64, 0.0..360.0_f64);
    (columns, pose, 0.0..0.008_f64, 150.0..900.0_f64).prop_map(
        |(columns, (x_mm, y_mm, heading_deg), slope, lux)| Plan {
            bay: BayDraft {
                obstructions: columns
                    .into_iter()
                    .enumerate()
                    .map(|(at, (x, y))| column(&format!("column-{at}"), x, y))
                    .collect(),
                stations: vec![station("mark-1", x_mm, y_mm, heading_deg)],
                ..bay()
            },
            survey: survey(slope, lux),
        },
    )
}

/// The column with each corner moved away from its middle.
fn grown(column: &ObstructionDraft, factor: f64) -> ObstructionDraft {
    let (x_middle, y_middle) = (column.outline_mm[0].0 + 250.0, column.outline_mm[0].1 + 250.0);
    let grow = |(x, y): &(f64, f64)| {
        (x_middle + factor * (x - x_middle), y_middle + factor * (y - y_middle))
    };
    ObstructionDraft { outline_mm: column.outline_mm.iter().map(grow).collect(), ..column.clone() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn turning_plan_and_vehicle_together_changes_no_verdict(
        plan in plans(), angle_deg in 1.0..359.0_f64,
    ) {
        let needs = vec![CLEAR, LEVEL, LIGHT, ZoneNeed::NoMetal { up_to_mm: 900.0 }];
        let (straight, turned) = (plan.fit(needs.clone()), plan.turned(angle_deg).fit(needs));
        prop_assert_eq!(kind(&straight), kind(&turned), "{:?}\n{:?}", straight, turned);
    }

    #[test]
    fn a_larger_obstruction_never_makes_a_vehicle_fit(plan in plans(), factor in 1.0..3.0_f64) {
        let before = plan.fit(vec![CLEAR]);
        let mut larger = plan.clone();
        larger.bay.obstructions =
            plan.bay.obstructions.iter().map(|one| grown(one, factor)).collect();
        let after = larger.fit(vec![CLEAR]);
        let improved = matches!(before, Fit::DoesNotFit(_)) && matches!(after, Fit::Fits(_));
        prop_assert!(!improved, "{after:?}");
    }

    #[test]
    fn worse_uncertainty_never_turns_does_not_fit_into_fits(
        plan in plans(), heights in 1.0..20.0_f64, light in 1.0..10.0_f64,
    ) {
        let before = plan.fit(vec![LEVEL, LIGHT]);
        let mut worse = plan.clone();
        worse.survey.height_uncertainty_mm *= heights;
        worse.survey.light_uncertainty_relative *= light;
        let after = worse.fit(vec![LEVEL, LIGHT]);
        if !matches!(before, Fit::Fits(_)) {
            prop_assert!(!matches!(after, Fit::Fits(_)), "{after:?}");
        }
        if !matches!(before, Fit::DoesNotFit(_)) {
            prop_assert!(!matches!(after, Fit::DoesNotFit(_)), "{after:?}");
        }
    }

    #[test]
    fn what_a_placement_takes_up_lies_in_free_floor(plan in plans()) {
        if let Fit::Fits(placement) = plan.fit(vec![CLEAR]) {
            let bay = Bay::new(plan.bay).unwrap();
            for region in placement.footprint() {
                for vertex in region.vertices() {
                    prop_assert!(bay.outline().contains(*vertex));
                    for column in bay.obstructions() {
                        let depth_mm = column.outline().edge_nearest_to_point(*vertex).distance_mm;
                        let inside = column.outline().contains(*vertex);
                        prop_assert!(!inside || depth_mm < 0.2);
                    }
                }
            }
        }
    }
}

#[test]
fn the_plans_of_the_properties_show_every_verdict() {
    use proptest::strategy::ValueTree as _;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let mut kinds = std::collections::BTreeSet::new();
    for _ in 0..300 {
        let plan = plans().new_tree(&mut runner).unwrap().current();
        let _new = kinds.insert(kind(&plan.fit(vec![CLEAR, LEVEL, LIGHT])));
    }
    assert_eq!(kinds.into_iter().collect::<Vec<_>>(), ["does not fit", "fits", "undecided"]);
}
