//! A kind of reference case: how to recognise one, and how to hold a result against it.

use super::Case;

/// One kind of case.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// What is checked, for a person.
    pub name: &'static str,
    /// Whether a case is of this kind, by its keys.
    pub recognises: fn(&Case<'_>) -> bool,
    /// Computes and compares.
    pub check: fn(&Case<'_>) -> Result<(), Mismatch>,
}

/// Why a case failed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected {expected}, got {got}")]
pub struct Mismatch {
    /// What the case states.
    pub expected: String,
    /// What we computed.
    pub got: String,
}

impl Mismatch {
    /// States a mismatch.
    pub fn new(expected: impl Into<String>, got: impl Into<String>) -> Self {
        Self { expected: expected.into(), got: got.into() }
    }

    /// Nothing when the two are equal.
    ///
    /// # Errors
    /// The mismatch, with `what` was compared, when they differ.
    pub fn unless_equal<T: PartialEq + std::fmt::Debug>(
        what: &str,
        expected: &T,
        got: &T,
    ) -> Result<(), Self> {
        if expected == got {
            return Ok(());
        }
        Err(Self::new(format!("{what} {expected:?}"), format!("{got:?}")))
    }
}
