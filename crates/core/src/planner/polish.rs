//! The last touch of a plan that has a previous one: whatever stands otherwise goes back where the plan costs no more
//! for it, so that nothing has moved without paying.
//!
//! Job by job, with who is in the way going back as well or to where they cost least; again until a round brings
//! nothing. Of plans that cost the same the one with fewer changed steps stays.

use super::board::{Board, Standing, Worth};
use super::placement::{Placement, changed_steps};
use super::ruin::restore::{Chain, strays};
use super::shop::Shop;

/// The most rounds.
const ROUNDS_MAX: usize = 8;

/// Per job, how it stood in the previous plan, where all its steps did and may stand so still.
pub(super) fn previous_placements(shop: &Shop<'_>) -> Vec<Option<Placement>> {
    let board = Board::new(shop);
    let jobs = 0..shop.problem.jobs.len();
    jobs.map(|job| super::repair::as_before(&board, job)).collect()
}

/// Polishes a plan in which no job is missing; gives it back no dearer, and with no more changed steps at the same cost.
pub(super) fn polish(
    shop: &Shop<'_>,
    standing: &[Standing],
    previous: &[Option<Placement>],
) -> (Worth, Vec<Standing>) {
    let mut board = Board::with(shop, standing);
    let mut best = (board.worth(), changes(shop, board.standing()));
    for _ in 0..ROUNDS_MAX {
        let before = best;
        for (job, was) in previous.iter().enumerate() {
            for back in [u64::MAX, 0] {
                if !strays(&board.standing()[job], was.as_ref()) {
                    break;
                }
                let kept = board.standing().to_vec();
                let chain = Chain { previous, back, rank: &shop.demand, turn: 0 };
                if let Some(worth) = chain.restore(&mut board, job, best.0) {
                    let reached = (worth, changes(shop, board.standing()));
                    if reached < best {
                        best = reached;
                    } else {
                        board = Board::with(shop, &kept);
                    }
                }
            }
        }
        if best == before {
            break;
        }
    }
    (best.0, board.standing().to_vec())
}

/// The steps that stand otherwise than in the previous plan, or whose job is left out.
pub(super) fn changes(shop: &Shop<'_>, standing: &[Standing]) -> usize {
    let jobs = shop.problem.jobs.iter().zip(standing);
    let changed = jobs.map(|(job, standing)| match standing {
        Standing::Placed(placement) => changed_steps(job, &placement.steps),
        Standing::LeftOut | Standing::Missing => {
            job.steps.iter().filter(|step| step.previous.is_some()).count()
        }
    });
    changed.sum()
}
