//! Fits: which bay can host which work, and why not.

use super::caution;
use crate::table::Table;
use baywright_api::v1::{
    Finding, FindingVerdict, Fit, FreeRoom, PoseRoom, SunHours, SunState, fit::Verdict,
};

/// One line per fit, then every reason of those that do not fit or are undecided, and every target
/// that has to be set.
pub(crate) fn list(fits: &[Fit]) -> String {
    let mut table =
        Table::new(&["procedure", "method", "class", "bay", "verdict", "station", "survey"]);
    let mut reasons = Vec::new();
    let mut sun = Vec::new();
    for fit in fits {
        let (verdict, station, findings): (_, _, &[Finding]) = match &fit.verdict {
            Some(Verdict::Fits(placement)) => {
                ("fits", placement.station_id.clone(), &placement.findings)
            }
            Some(Verdict::DoesNotFit(unfit)) => ("does not fit", String::new(), &unfit.findings),
            Some(Verdict::Undecided(undecided)) => {
                ("undecided", String::new(), &undecided.findings)
            }
            None => ("not stated", String::new(), &[]),
        };
        table.row([
            fit.procedure_id.clone(),
            fit.method_id.clone(),
            fit.vehicle_class_id.clone(),
            fit.bay_id.clone(),
            verdict.to_owned(),
            station,
            fit.survey_id.clone(),
        ]);
        if let Some(hours) = &fit.sun
            && !matches!(hours.state(), SunState::NotAsked | SunState::NoOpening)
        {
            sun.push(sun_line(fit, hours));
        }
        let against = findings.iter().filter(|finding| {
            // Where work fits, a target that has to be set is told all the same.
            finding.need == "target-compensation"
                || !matches!(
                    finding.verdict(),
                    FindingVerdict::Conforms | FindingVerdict::ConfirmAtStart
                )
        });
        for finding in against {
            reasons.push(format!(
                "{}/{}, {}, {}, {}: {}",
                fit.procedure_id,
                fit.method_id,
                fit.vehicle_class_id,
                fit.bay_id,
                finding.station_id,
                finding.sentence
            ));
        }
    }
    if table.is_empty() {
        return "No fits: nothing of that name is to be done in a bay.".to_owned();
    }
    let mut parts = vec![table.text()];
    if !reasons.is_empty() {
        parts.push(reasons.join("\n"));
    }
    if !sun.is_empty() {
        parts.push(format!("Sun:\n{}", sun.join("\n")));
    }
    let details: Vec<_> = fits.iter().flat_map(details).collect();
    if !details.is_empty() {
        parts.push(details.join("\n"));
    }
    parts.push(caution(""));
    parts.join("\n\n")
}

fn sun_line(fit: &Fit, hours: &SunHours) -> String {
    let Fit { procedure_id, method_id, vehicle_class_id, bay_id, .. } = fit;
    let assumed: Vec<_> = hours.assumptions.iter().map(|one| format!(" {one}.")).collect();
    let assumed = assumed.concat();
    let work = format!("{procedure_id}/{method_id}, {vehicle_class_id}, {bay_id}");
    format!("  {work}: {}{assumed}", hours.sentence)
}

/// Room, equipment and nearest misses, where they were asked for, a line each.
fn details(fit: &Fit) -> Vec<String> {
    let name =
        format!("{}/{}, {}, {}", fit.procedure_id, fit.method_id, fit.vehicle_class_id, fit.bay_id);
    let mut lines = Vec::new();
    if let Some(Verdict::Fits(placement)) = &fit.verdict
        && let Some(room) = &placement.room
    {
        lines.extend(room_lines(&format!("{name}, {}", placement.station_id), room));
    }
    for room in &fit.free_rooms {
        lines.extend(free_room(&name, room));
    }
    for kind in &fit.lacking_unit_kinds {
        lines.push(format!("{name}: no unit of kind {kind} can be used today."));
    }
    for miss in &fit.nearest_misses {
        // A bay fits already where a blind is told: its run gains time.
        let gives = if miss.change == "close-blind" { "more time" } else { "would fit" };
        lines.push(format!("{name}: {gives}: {}.", miss.sentence));
    }
    lines
}

fn room_lines(name: &str, room: &PoseRoom) -> Vec<String> {
    let margins: Vec<_> = room.margins.iter().map(|margin| margin.sentence.as_str()).collect();
    let tape = room.tape.as_ref().map_or("no two walls serve", |tape| tape.sentence.as_str());
    vec![format!("{name}: margins: {}.", margins.join("; ")), format!("{name}: tape: {tape}.")]
}

fn free_room(name: &str, room: &FreeRoom) -> Vec<String> {
    let heading = format!("heading {:.1} degrees", room.heading_deg);
    let within = if room.tolerance_deg > 0.0 {
        format!(", at every heading within {:.1} degrees of it", room.tolerance_deg)
    } else {
        String::new()
    };
    let Some(best) = &room.best else {
        return vec![format!("{name}: no room at {heading}{within}.")];
    };
    let pose = best.pose.unwrap_or_default();
    let holds = match best.verdict() {
        FindingVerdict::Conforms | FindingVerdict::ConfirmAtStart => "every need holds there",
        FindingVerdict::Undecided => "undecided there",
        FindingVerdict::DoesNotConform | FindingVerdict::Unspecified => {
            "there is room, but not every need holds there"
        }
    };
    let mut lines = vec![format!(
        "{name}: room at {heading}{within}: {:.2} m2 in {} piece(s); best tried x {:.0} mm, y {:.0} mm: \
         {holds}.",
        room.area_mm2 / 1e6,
        room.pieces.len(),
        pose.x_mm,
        pose.y_mm
    )];
    lines.extend(best.room.iter().flat_map(|found| room_lines(name, found)));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use baywright_api::v1::{
        self, FloorPose, FreePose, NearestMiss, RoomPiece, SideMargin, TapeDistances, Unfit,
    };

    #[test]
    fn room_misses_and_lacking_equipment_follow_the_reasons() {
        let room = PoseRoom {
            margins: vec![SideMargin {
                sentence: "vehicle, left rear: 412 mm to column-c2".to_owned(),
                ..SideMargin::default()
            }],
            tape: Some(TapeDistances {
                sentence: "from the left front tyre".to_owned(),
                ..TapeDistances::default()
            }),
        };
        let best = FreePose {
            pose: Some(FloorPose { x_mm: 3_770.0, y_mm: 3_000.0, heading_deg: 0.0 }),
            verdict: FindingVerdict::Undecided.into(),
            findings: vec![],
            room: Some(room),
        };
        let rooms = vec![
            FreeRoom {
                tolerance_deg: 1.0,
                area_mm2: 2.8e6,
                pieces: vec![RoomPiece::default()],
                best: Some(best),
                ..FreeRoom::default()
            },
            FreeRoom { heading_deg: 180.0, ..FreeRoom::default() },
        ];
        let fit = Fit {
            procedure_id: "radar".to_owned(),
            method_id: "usual".to_owned(),
            vehicle_class_id: "compact".to_owned(),
            bay_id: "bay-1".to_owned(),
            verdict: Some(Verdict::DoesNotFit(Unfit::default())),
            free_rooms: rooms,
            nearest_misses: vec![NearestMiss {
                sentence: "take column-c2 away".to_owned(),
                ..NearestMiss::default()
            }],
            lacking_unit_kinds: vec!["rig".to_owned()],
            ..Fit::default()
        };
        let text = list(&[fit]);
        let lines: Vec<_> = text.lines().filter(|line| line.starts_with("radar/usual,")).collect();
        let name = "radar/usual, compact, bay-1";
        assert_eq!(
            lines,
            [
                format!(
                    "{name}: room at heading 0.0 degrees, at every heading within 1.0 degrees of it: \
                     2.80 m2 in 1 piece(s); best tried x 3770 mm, y 3000 mm: undecided there."
                ),
                format!("{name}: margins: vehicle, left rear: 412 mm to column-c2."),
                format!("{name}: tape: from the left front tyre."),
                format!("{name}: no room at heading 180.0 degrees."),
                format!("{name}: no unit of kind rig can be used today."),
                format!("{name}: would fit: take column-c2 away."),
            ]
        );
    }

    #[test]
    fn a_blind_is_told_as_more_time_for_a_bay_that_fits() {
        let fit = Fit {
            bay_id: "bay-4".to_owned(),
            verdict: Some(Verdict::Fits(v1::Placement::default())),
            nearest_misses: vec![NearestMiss {
                change: "close-blind".to_owned(),
                sentence: "close the blind on daylight opening w2".to_owned(),
                ..NearestMiss::default()
            }],
            ..Fit::default()
        };
        let text = list(&[fit]);
        assert!(
            text.contains("bay-4: more time: close the blind on daylight opening w2."),
            "{text}"
        );
        assert!(!text.contains("would fit"), "{text}");
    }
}
