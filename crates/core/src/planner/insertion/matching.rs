//! One resource for each need, none for two: bipartite matching by augmenting paths (Kuhn 1955).

const NONE: usize = usize::MAX;

/// Finds a resource for each need among those that are free, the lowest rank first; none when
/// some need has to go without.
pub(super) fn assign(
    needs: &[Vec<usize>],
    rank: &[u32],
    free: impl Fn(usize) -> bool,
) -> Option<Vec<usize>> {
    // Mostly each need can have what it likes best.
    let first = |group: &Vec<usize>| {
        let able = group.iter().copied().filter(|used| free(*used));
        able.min_by_key(|used| (rank[*used], *used))
    };
    let wished: Vec<usize> = needs.iter().map(first).collect::<Option<_>>()?;
    if (1..wished.len()).all(|at| !wished[..at].contains(&wished[at])) {
        return Some(wished);
    }
    let able = |group: &Vec<usize>| -> Vec<usize> {
        let mut able: Vec<usize> = group.iter().copied().filter(|used| free(*used)).collect();
        able.sort_unstable_by_key(|used| (rank[*used], *used));
        able
    };
    let candidates: Vec<Vec<usize>> = needs.iter().map(able).collect();
    let mut uses = vec![NONE; needs.len()];
    let mut tried = Vec::new();
    for need in 0..needs.len() {
        tried.clear();
        if !augment(&candidates, need, &mut uses, &mut tried) {
            return None;
        }
    }
    Some(uses)
}

/// Depth is at most the number of needs, because each level displaces another need.
fn augment(
    candidates: &[Vec<usize>],
    need: usize,
    uses: &mut [usize],
    tried: &mut Vec<usize>,
) -> bool {
    if let Some(used) = candidates[need].iter().find(|used| !uses.contains(used)) {
        uses[need] = *used;
        return true;
    }
    for used in &candidates[need] {
        if tried.contains(used) {
            continue;
        }
        tried.push(*used);
        let Some(holder) = uses.iter().position(|other| other == used) else { continue };
        if augment(candidates, holder, uses, tried) {
            uses[need] = *used;
            return true;
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::assign;

    #[test]
    fn a_need_gives_way_when_another_has_no_other_choice() {
        assert_eq!(assign(&[vec![0, 1], vec![0]], &[0, 1], |_| true), Some(vec![1, 0]));
    }

    #[test]
    fn one_resource_never_serves_two_needs() {
        assert_eq!(assign(&[vec![0], vec![0]], &[0], |_| true), None);
        assert_eq!(assign(&[vec![0, 1], vec![0, 1]], &[0, 1], |used| used == 1), None);
    }
}
