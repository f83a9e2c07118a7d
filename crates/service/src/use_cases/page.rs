//! Pages of a list: size and token.
//!
//! A token names the key of the last thing on the page before, so pages stay right while things are
//! added and changed.

use crate::error::ServiceError;
use baywright_core::fault::{Fault, FaultList};

/// Usual and greatest size of a page.
#[derive(Debug, Clone, Copy)]
pub(super) struct PageSizes {
    pub(super) usual: u32,
    pub(super) most: u32,
}

/// The size of a page: 0 means the usual one, more than the most means the most.
pub(super) fn page_size(asked: i32, sizes: PageSizes) -> Result<u32, ServiceError> {
    match u32::try_from(asked) {
        Ok(0) => Ok(sizes.usual),
        Ok(asked) => Ok(asked.min(sizes.most)),
        Err(_negative) => Err(Fault::new(
            "page_size",
            asked,
            format!("be 0 to {}", sizes.most),
            "leave it out for the usual size",
        )
        .into()),
    }
}

/// The key in a page token; none for the first page.
pub(super) fn page_key<K>(
    token: &str,
    read: impl FnOnce(&str) -> Option<K>,
) -> Result<Option<K>, ServiceError> {
    if token.is_empty() {
        return Ok(None);
    }
    let mut faults = FaultList::new();
    let key = read(token);
    if key.is_none() {
        faults.push(Fault::new(
            "page_token",
            token,
            "be the next_page_token of the page before",
            "send it as it came, or leave it out for the first page",
        ));
    }
    Ok(faults.finish(key)?)
}
