//! Who sends work.

use crate::ids::AccountId;

/// Who sends work: a body shop, an insurer, a fleet, a private customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Name of the account.
    pub id: AccountId,
    /// What people call it.
    pub title: String,
    /// Whom to ask there; empty where nobody is named.
    pub party: String,
}
