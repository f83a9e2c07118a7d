//! What one search passes over, so that searches differ.

/// Which options and starts one search passes over (blinks, after Christiaens and Vanden Berghe,
/// "Slack induction by string removals for vehicle routing problems", Transportation Science 54
/// (2020), where positions are passed over).
#[derive(Debug, Clone, Copy)]
pub(in crate::planner) struct Blink {
    /// One bit per option, counted over the whole job modulo 64: passed over where set.
    pub(in crate::planner) options: u64,
    /// Which steps, one bit each, do not start before `not_before`.
    pub(in crate::planner) late_steps: u64,
    pub(in crate::planner) not_before: i64,
}

impl Blink {
    /// The earliest start that a step may have.
    pub(super) fn delay(self, step: usize) -> i64 {
        if self.late_steps >> step & 1 == 1 { self.not_before } else { i64::MIN }
    }

    pub(super) fn skips(self, step: usize, option: usize) -> bool {
        self.options >> ((step * 11 + option) % 64) & 1 == 1
    }
}
