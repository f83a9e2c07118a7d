//! Percentiles of what the runs gave.

/// The tenth, fiftieth and ninetieth percentile.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Range {
    /// A tenth of the runs gave no more.
    pub p10: f64,
    /// Half of them gave no more.
    pub p50: f64,
    /// Nine tenths of them gave no more.
    pub p90: f64,
}

impl Range {
    /// Of values in any order; zeros where there are none.
    pub fn of(mut values: Vec<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        Self { p10: ranked(&values, 10), p50: ranked(&values, 50), p90: ranked(&values, 90) }
    }
}

/// The smallest value that at least so many percent of the sorted values do not exceed (the inverse of the
/// empirical distribution: definition 1 of Hyndman and Fan, "Sample quantiles in statistical packages",
/// The American Statistician 50 (1996), from memory).
pub(super) fn ranked<T: Copy + Default>(sorted: &[T], percent: usize) -> T {
    let rank = (sorted.len() * percent).div_ceil(100).max(1);
    sorted.get(rank - 1).copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    // By the definition: of ten values the first, fifth and ninth; of four the first, second and fourth.
    #[case::ten((1..=10).rev().collect(), [1, 5, 9])]
    #[case::four(vec![40, 10, 30, 20], [10, 20, 40])]
    #[case::one(vec![7], [7, 7, 7])]
    #[case::none(Vec::new(), [0, 0, 0])]
    fn percentiles_are_values_that_came(#[case] values: Vec<u32>, #[case] expected: [u32; 3]) {
        let range = Range::of(values.into_iter().map(f64::from).collect());
        let [p10, p50, p90] = expected.map(f64::from);
        assert_eq!(range, Range { p10, p50, p90 });
    }
}
