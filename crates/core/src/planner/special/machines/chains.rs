//! The steps of all jobs in arrays that a search reads fast: the entry behind the last step stands for no step, so
//! that nothing has to be asked first.

use super::Machines;

/// No way at all; far below any length, and adding to it cannot overflow.
pub(super) const NO_WAY: i32 = i32::MIN / 2;

/// By step (and none): its neighbours in the job, and what does not depend on a plan.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Chains {
    pub(super) none: usize,
    pub(super) before: Vec<usize>,
    pub(super) after: Vec<usize>,
    /// With the first of its choices.
    pub(super) minutes: Vec<i32>,
    pub(super) release: Vec<i32>,
}

impl Chains {
    pub(super) fn of(shop: &Machines) -> Self {
        let none = shop.count();
        let steps = || 0..none;
        let minutes = steps().map(|step| shop.choices[step][0].minutes).chain([0]);
        Self {
            none,
            before: steps().map(|s| shop.before(s).unwrap_or(none)).chain([none]).collect(),
            after: steps().map(|s| shop.after(s).unwrap_or(none)).chain([none]).collect(),
            minutes: minutes.collect(),
            release: shop.release.iter().copied().chain([NO_WAY]).collect(),
        }
    }
}
