//! Names that the service gives by counting: `O-12`, `D-3`.

/// The name of a thing by its number.
pub(super) fn name_of(prefix: &str, number: u64) -> String {
    format!("{prefix}{number}")
}

/// The number in a name; none where it is no such name.
pub(super) fn number_of(prefix: &str, name: &str) -> Option<u64> {
    let number = name.strip_prefix(prefix)?.parse().ok()?;
    (name_of(prefix, number) == name).then_some(number)
}
