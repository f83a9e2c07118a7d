//! The room at a pose and away from the stations, as messages; computed and never read.

use crate::bay::outline_message;
use crate::fit::finding_message;
use crate::v1;
use baywright_core::fit::{
    FreeHeading, FreePlacement, Neighbour, PoseRoom, SideMargin, TapeDistances,
};
use baywright_core::ids::StationId;

impl From<&PoseRoom> for v1::PoseRoom {
    fn from(room: &PoseRoom) -> Self {
        Self {
            margins: room.margins.iter().map(Into::into).collect(),
            tape: room.tape.as_ref().map(Into::into),
        }
    }
}

impl From<&SideMargin> for v1::SideMargin {
    fn from(margin: &SideMargin) -> Self {
        Self {
            zone_id: margin.zone.as_ref().map(ToString::to_string).unwrap_or_default(),
            side: margin.side.to_string(),
            end: margin.end.map(|end| end.to_string()).unwrap_or_default(),
            gap_mm: margin.gap_mm,
            limited_by: margin.limited_by.to_string(),
            sentence: margin.to_string(),
        }
    }
}

impl From<&TapeDistances> for v1::TapeDistances {
    fn from(tape: &TapeDistances) -> Self {
        let edges = tape.walls.iter().filter_map(|wall| match wall {
            Neighbour::Edge(edge) => u32::try_from(*edge).ok(),
            // Tapes are held against walls only.
            Neighbour::Obstruction(_) => None,
        });
        Self {
            side: tape.side.to_string(),
            wall_edges: edges.collect(),
            front_mm: tape.front_mm.to_vec(),
            rear_mm: tape.rear_mm.to_vec(),
            sentence: tape.to_string(),
        }
    }
}

impl From<&FreeHeading> for v1::FreeRoom {
    fn from(found: &FreeHeading) -> Self {
        let pieces = found.region.pieces().iter().map(|piece| v1::RoomPiece {
            outline: outline_message(piece.outer()),
            holes: piece
                .holes()
                .iter()
                .map(|hole| v1::RoomHole { outline: outline_message(hole) })
                .collect(),
            area_mm2: piece.area_mm2(),
        });
        Self {
            heading_deg: found.heading_deg,
            tolerance_deg: found.tolerance_deg,
            area_mm2: found.region.area_mm2(),
            pieces: pieces.collect(),
            best: found.best.as_ref().and_then(free_pose),
        }
    }
}

/// A pose has no station; its findings stand under the name `free`.
fn free_pose(best: &FreePlacement) -> Option<v1::FreePose> {
    let station = StationId::new("free").ok()?;
    let findings = best.findings.iter().map(|finding| finding_message(&station, finding));
    Some(v1::FreePose {
        pose: Some((&best.pose).into()),
        verdict: v1::FindingVerdict::from(best.verdict()).into(),
        findings: findings.collect(),
        room: Some(v1::PoseRoom {
            margins: best.margins.iter().map(Into::into).collect(),
            tape: best.tape.as_ref().map(Into::into),
        }),
    })
}
