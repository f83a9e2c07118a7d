//! What the whole-system checks share: the plans' referee, a generator of planning problems, the
//! judging of reference cases, and the running service with its callers.

pub mod events;
pub mod generator;
pub mod referee;
pub mod reference;
pub mod right_shift;
pub mod system;
