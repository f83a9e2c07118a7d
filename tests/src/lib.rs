//! What the whole-system checks share: the plans' referee, a generator of planning problems and the
//! judging of reference cases.

pub mod generator;
pub mod referee;
pub mod reference;
