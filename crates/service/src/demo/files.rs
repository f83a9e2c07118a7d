//! The demo shop's own files, read where the program was built. Everything in them is invented.

use baywright_api::v1;
use baywright_files::{FileFaults, estimate_file, shop_file, survey_file};

/// The shop.
const SHOP: (&str, &str) = ("shop.toml", include_str!("../../demo/shop.toml"));

/// Bay and survey.
const SURVEYS: [(&str, &str); 3] = [
    ("bay-1", include_str!("../../demo/survey-bay-1.csv")),
    ("bay-2", include_str!("../../demo/survey-bay-2.csv")),
    ("bay-3", include_str!("../../demo/survey-bay-3.csv")),
];

/// Estimates by job.
const ESTIMATES: [(&str, &str); 6] = [
    ("J-1001", include_str!("../../demo/estimate-1001-windshield.json")),
    ("J-1002", include_str!("../../demo/estimate-1002-rear-bumper.json")),
    ("J-1003", include_str!("../../demo/estimate-1003-unknown-operation.json")),
    ("J-1004", include_str!("../../demo/estimate-1004-parts-on-order.json")),
    ("J-1005", include_str!("../../demo/estimate-1005-tow-in.json")),
    ("J-1006", include_str!("../../demo/estimate-1006-mirror-waiting.json")),
];

/// A file of the demonstration has faults.
#[derive(Debug, thiserror::Error)]
#[error("the demonstration's file for {name} has faults")]
pub struct FileError {
    name: &'static str,
    #[source]
    faults: FileFaults,
}

fn named(name: &'static str) -> impl FnOnce(FileFaults) -> FileError {
    move |faults| FileError { name, faults }
}

/// The shop with everything that is written down about it.
pub(super) fn shop() -> Result<v1::ShopDefinition, FileError> {
    shop_file::parse(SHOP.1).map_err(named(SHOP.0))
}

/// A survey of each bay.
pub(super) fn surveys() -> Result<Vec<v1::Survey>, FileError> {
    let read = |(bay, text)| survey_file::parse(text, bay).map_err(named(bay));
    SURVEYS.into_iter().map(read).collect()
}

/// An estimate for each job.
pub(super) fn estimates() -> Result<Vec<v1::Estimate>, FileError> {
    let read = |(job, text)| estimate_file::parse(text).map_err(named(job));
    ESTIMATES.into_iter().map(read).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_reads_and_is_for_what_it_is_named_after() {
        let shop = shop().unwrap();
        let bays: Vec<_> = shop.bays.iter().map(|bay| bay.bay_id.as_str()).collect();
        assert_eq!(bays, SURVEYS.map(|(bay, _)| bay));
        assert_eq!(surveys().unwrap().len(), bays.len());
        let jobs: Vec<_> = estimates().unwrap().into_iter().map(|one| one.job_id).collect();
        assert_eq!(jobs, ESTIMATES.map(|(job, _)| job));
    }
}
