//! The documented files and the messages they mean.
//!
//! Three files: what is written down about a shop (TOML), what was measured in a bay (CSV) and
//! what a sending system says about a visit (JSON). `docs/files.md` describes them. A file is
//! read whole: every fault is reported at once, each with its line, its path, what was given,
//! what is allowed and what to do.
//!
//! # Example: a faulty survey names every line
//! ```
//! let faults = baywright_files::survey_file::parse("# survey: may\nheight,1,2", "bay-1");
//! assert!(faults.unwrap_err().list().len() > 1);
//! ```

pub mod estimate_file;
mod file_fault;
mod hours;
mod json_tree;
mod reader;
mod selector;
pub mod shop_file;
pub mod survey_file;
mod toml_text;
mod toml_tree;
mod tree;
pub mod words;

pub use file_fault::{FAULTS_MAX, FileFault, FileFaults};

/// The first example of that language in `docs/files.md`, so that the document stays true.
#[cfg(test)]
fn doc_example(language: &str) -> String {
    let document = include_str!("../../../docs/files.md");
    let (_, after) = document.split_once(&format!("```{language}\n")).unwrap();
    after.split_once("```").unwrap().0.to_owned()
}
