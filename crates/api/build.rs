//! Compiles the contract in pure Rust: no protobuf compiler is needed on the machine.

use prost::Message as _;
use std::{env, fs, path::PathBuf};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("../../proto");
    println!("cargo::rerun-if-changed={}", root.display());
    let mut files = Vec::new();
    for entry in fs::read_dir(root.join("baywright/v1"))? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "proto") {
            files.push(path);
        }
    }
    files.sort();
    let mut compiler = protox::Compiler::new([&root])?;
    compiler.include_imports(true).include_source_info(true).open_files(&files)?;
    let with_comments = compiler.file_descriptor_set();
    // Reflection and JSON need names and types, not the comments.
    let mut bare = with_comments.clone();
    for file in &mut bare.file {
        file.source_code_info = None;
    }
    let out = PathBuf::from(env::var("OUT_DIR")?);
    fs::write(out.join("contract.binpb"), bare.encode_to_vec())?;
    tonic_prost_build::configure().build_transport(false).compile_fds(with_comments)?;
    Ok(())
}
