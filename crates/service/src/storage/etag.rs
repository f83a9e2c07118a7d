//! Etags: the quoted version of what is kept (AIP-154).

/// The etag of a version: `"7"`, with its quotation marks.
pub fn etag_of(version: i64) -> String {
    format!("\"{version}\"")
}

/// The version that an etag names; none where the text is no etag of ours.
pub fn version_of(etag: &str) -> Option<i64> {
    etag.strip_prefix('"')?.strip_suffix('"')?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::ours("\"7\"", Some(7))]
    #[case::no_quotation_marks("7", None)]
    #[case::a_single_mark("\"", None)]
    #[case::empty("", None)]
    #[case::words("\"seven\"", None)]
    fn an_etag_is_a_version_in_quotation_marks(#[case] etag: &str, #[case] version: Option<i64>) {
        assert_eq!(version_of(etag), version);
        if let Some(version) = version {
            assert_eq!(etag_of(version), etag);
        }
    }
}
