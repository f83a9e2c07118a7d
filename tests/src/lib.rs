//! What the whole-system checks share: the judging of reference cases.

pub mod reference;
