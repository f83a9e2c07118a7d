//! The quick search beside the careful one.

use super::super::{Query, find, find_quickly};
use crate::planner::any_problem::any_problem;
use crate::planner::board::Board;
use crate::planner::schedule::settle;
use crate::planner::seeded::Seeded;
use crate::planner::shop::Shop;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn the_cheapest_way_costs_what_the_careful_search_proves(seed in any::<u64>(), share in 1_i64..=4) {
        let problem = any_problem(seed);
        let shop = Shop::new(&problem);
        let mut board = Board::new(&shop);
        let mut order: Vec<usize> = (0..shop.jobs.len()).collect();
        Seeded::new(seed, 1).shuffle(&mut order);
        for job in &order[1..] {
            settle(&mut board, Query::plain(&shop, *job));
        }
        let careful = find(&board, Query::plain(&shop, order[0]));
        prop_assert!(careful.proved);
        let least = careful.best.map(|(cost, _)| cost);
        let quick = find_quickly(&mut board, Query::plain(&shop, order[0]));
        prop_assert_eq!(quick.as_ref().map(|(cost, _)| *cost), least);
        if let Some((cost, placement)) = quick {
            prop_assert!(board.has_room(order[0], &placement));
            // The same under a limit: found when it is above the cost, and only then.
            for (below, found) in [(cost + share, Some(cost)), (cost, None), (cost - cost / 4 * share, None)] {
                let query = Query { below, ..Query::plain(&shop, order[0]) };
                prop_assert_eq!(find_quickly(&mut board, query).map(|(cost, _)| cost), found);
            }
        }
    }
}
