//! Empty for now.
