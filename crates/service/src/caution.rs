//! The caution that stands wherever a person acts on a result.

/// Shown with every plan, holding and hand-back.
pub const CAUTION: &str = "A planning aid: the vehicle maker's current procedure, local codes and \
    licensed practice decide. A wrong calibration is dangerous.";
