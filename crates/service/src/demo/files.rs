//! The demo shop's own files, read where the program was built. Everything in them is invented.

use super::DemoError;
use baywright_api::v1;
use baywright_files::{FileFaults, estimate_file, shop_file, survey_file};
use std::{
    fs, io,
    path::{Path, PathBuf},
};

/// What a file is for, its name, and its text.
#[derive(Debug, Clone, Copy)]
struct DemoFile {
    about: &'static str,
    name: &'static str,
    text: &'static str,
}

/// A file of the demonstration's folder.
macro_rules! file {
    ($about:literal, $name:literal) => {
        DemoFile { about: $about, name: $name, text: include_str!(concat!("../../demo/", $name)) }
    };
}

/// The shop.
const SHOP: DemoFile = file!("demo", "shop.toml");

/// Surveys by bay. Nobody has surveyed bay-8.
const SURVEYS: [DemoFile; 15] = [
    file!("bay-1", "survey-bay-1.csv"),
    file!("bay-2", "survey-bay-2.csv"),
    file!("bay-3", "survey-bay-3.csv"),
    file!("bay-4", "survey-bay-4.csv"),
    file!("bay-5", "survey-bay-5.csv"),
    file!("bay-6", "survey-bay-6.csv"),
    file!("bay-7", "survey-bay-7.csv"),
    file!("bay-9", "survey-bay-9.csv"),
    file!("bay-10", "survey-bay-10.csv"),
    file!("bay-11", "survey-bay-11.csv"),
    file!("bay-12", "survey-bay-12.csv"),
    file!("bay-13", "survey-bay-13.csv"),
    file!("bay-14", "survey-bay-14.csv"),
    file!("bay-15", "survey-bay-15.csv"),
    file!("bay-16", "survey-bay-16.csv"),
];

/// The first estimate of each job.
const ESTIMATES: [DemoFile; 34] = [
    file!("J-0901", "estimate-0901-handed-back.json"),
    file!("J-0902", "estimate-0902-declined.json"),
    file!("J-0903", "estimate-0903-cancelled.json"),
    file!("J-0904", "estimate-0904-failed.json"),
    file!("J-0905", "estimate-0905-sent-out.json"),
    file!("J-0906", "estimate-0906-undone.json"),
    file!("J-0907", "estimate-0907-blocking-code.json"),
    file!("J-0908", "estimate-0908-decided-operation.json"),
    file!("J-0909", "estimate-0909-glass-set-outside.json"),
    file!("J-0910", "estimate-0910-glass-set-here.json"),
    file!("J-1001", "estimate-1001-windshield.json"),
    file!("J-1002", "estimate-1002-rear-bumper.json"),
    file!("J-1003", "estimate-1003-unknown-operation.json"),
    file!("J-1004", "estimate-1004-parts-on-order.json"),
    file!("J-1005", "estimate-1005-tow-in.json"),
    file!("J-1006", "estimate-1006-mirror-waiting.json"),
    file!("J-1007", "estimate-1007-running.json"),
    file!("J-1008", "estimate-1008-paused.json"),
    file!("J-1009", "estimate-1009-board-away.json"),
    file!("J-1010", "estimate-1010-night-vision.json"),
    file!("J-1011", "estimate-1011-vendor-visit.json"),
    file!("J-1012", "estimate-1012-only-proposed.json"),
    file!("J-1013", "estimate-1013-many-sensors.json"),
    file!("J-1014", "estimate-1014-rear-bumper-van.json"),
    file!("J-1015", "estimate-1015-alignment.json"),
    file!("J-1016", "estimate-1016-windshield.json"),
    file!("J-1017", "estimate-1017-bracket-on-order.json"),
    file!("J-1018", "estimate-1018-mirror.json"),
    file!("J-1019", "estimate-1019-grille.json"),
    file!("J-1020", "estimate-1020-lidar.json"),
    file!("J-1021", "estimate-1021-bodywork-booked.json"),
    file!("J-1022", "estimate-1022-crash.json"),
    file!("J-1023", "estimate-1023-long-van-radar.json"),
    file!("J-1024", "estimate-1024-suspension.json"),
];

/// Estimates that come later: supplements, and what was only asked for.
const LATER: [DemoFile; 5] = [
    file!("J-0906", "estimate-0906-undone-supplement.json"),
    file!("J-0990", "offer-0990-no-bay.json"),
    file!("J-0991", "offer-0991-declined.json"),
    file!("J-2001", "story-2001-mirror.json"),
    file!("J-2001", "story-2001-supplement.json"),
];

/// The supplement of a job that had passed some of its work.
pub(super) const SUPPLEMENT: &str = "estimate-0906-undone-supplement.json";
/// Asked for, and no bay takes it.
pub(super) const OFFER_WITHOUT_BAY: &str = "offer-0990-no-bay.json";
/// Asked for, and declined by the customer.
pub(super) const OFFER_DECLINED: &str = "offer-0991-declined.json";
/// The visit that the story follows.
pub(super) const STORY: &str = "story-2001-mirror.json";
/// What the inspection found in the story.
pub(super) const STORY_SUPPLEMENT: &str = "story-2001-supplement.json";

/// A file of the demonstration has faults.
#[derive(Debug, thiserror::Error)]
#[error("the demonstration's file {name} has faults")]
pub struct FileError {
    name: &'static str,
    #[source]
    faults: FileFaults,
}

fn named(file: DemoFile) -> impl FnOnce(FileFaults) -> FileError {
    move |faults| FileError { name: file.name, faults }
}

/// The shop with everything that is written down about it.
pub(super) fn shop() -> Result<v1::ShopDefinition, FileError> {
    shop_file::parse(SHOP.text).map_err(named(SHOP))
}

/// A survey of each bay that was surveyed.
pub(super) fn surveys() -> Result<Vec<v1::Survey>, FileError> {
    let read = |file: DemoFile| survey_file::parse(file.text, file.about).map_err(named(file));
    SURVEYS.into_iter().map(read).collect()
}

/// The first estimate of each job.
pub(super) fn estimates() -> Result<Vec<v1::Estimate>, FileError> {
    ESTIMATES.into_iter().map(estimate_of).collect()
}

/// An estimate that comes later, by the name of its file; none of that name is as good as empty, and
/// the service refuses it.
pub(super) fn later(name: &str) -> Result<v1::Estimate, FileError> {
    let file = LATER.into_iter().find(|file| file.name == name);
    file.map_or_else(|| Ok(v1::Estimate::default()), estimate_of)
}

fn estimate_of(file: DemoFile) -> Result<v1::Estimate, FileError> {
    estimate_file::parse(file.text).map_err(named(file))
}

/// Writes every file of the demonstration into a folder, which is made where there is none; the
/// number of files. A file that is there already is never overwritten.
pub(super) fn write_all(folder: &Path) -> Result<usize, DemoError> {
    let not_written = |path: PathBuf| move |source| DemoError::NotWritten { path, source };
    fs::create_dir_all(folder).map_err(not_written(folder.to_owned()))?;
    let files = || [SHOP].into_iter().chain(SURVEYS).chain(ESTIMATES).chain(LATER);
    for file in files() {
        let path = folder.join(file.name);
        write_new(&path, file.text).map_err(not_written(path))?;
    }
    Ok(files().count())
}

fn write_new(path: &Path, text: &str) -> io::Result<()> {
    use io::Write as _;
    fs::File::create_new(path)?.write_all(text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_reads_and_is_for_what_it_is_named_after() {
        let shop = shop().unwrap();
        let bays: Vec<_> = shop.bays.iter().map(|bay| bay.bay_id.as_str()).collect();
        let surveyed: Vec<_> = bays.into_iter().filter(|bay| *bay != "bay-8").collect();
        assert_eq!(surveyed, SURVEYS.map(|file| file.about));
        assert_eq!(surveys().unwrap().len(), surveyed.len());
        let jobs: Vec<_> = estimates().unwrap().into_iter().map(|one| one.job_id).collect();
        assert_eq!(jobs, ESTIMATES.map(|file| file.about));
        for file in LATER {
            assert_eq!(later(file.name).unwrap().job_id, file.about);
        }
    }

    #[test]
    fn the_files_are_written_whole_and_never_over_others() {
        let folder = tempfile::tempdir().unwrap();
        let written = write_all(folder.path()).unwrap();

        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), written);
        let shop = fs::read_to_string(folder.path().join("shop.toml")).unwrap();
        assert_eq!(shop, SHOP.text);
        assert!(matches!(write_all(folder.path()), Err(DemoError::NotWritten { .. })));
    }

    #[test]
    fn every_file_of_the_folder_says_that_it_is_invented() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
        let known = 1 + SURVEYS.len() + ESTIMATES.len() + LATER.len();
        assert_eq!(fs::read_dir(folder).unwrap().count(), known);
        for file in [SHOP].into_iter().chain(SURVEYS).chain(ESTIMATES).chain(LATER) {
            assert!(file.text.contains("invented"), "{}", file.name);
        }
    }
}
