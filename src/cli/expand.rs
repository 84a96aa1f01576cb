//! `decant expand`: a contract's visits as job files.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::Exit;
use super::plan::print;
use super::prepare::tell;
use crate::contract::Contract;
use crate::plan::plan;
use crate::record::Record;
use crate::report::Report;
use crate::whole::write_whole;

/// Expands a contract into a folder. Nothing is written while anything is wrong; a file that is there and differs is
/// left alone, and so are all others, unless `replace` is asked for.
pub(super) fn run(contract: &Path, output: &Path, replace: bool) -> Exit {
    let mut report = Report::new();
    let read = Contract::read(contract, &mut report);
    if let Some(contract) = &read {
        // a job is sound when it can be planned and its record has a link that can be printed
        contract.check(&mut report, |job, report| {
            let link = &job.catalog.record_link;
            let origin = job.catalog.source.root().origin().key("record_link");
            if let Some(Err(problem)) = plan(job, report).map(|plan| Record::of(&plan, link, &origin)) {
                report.push(*problem);
            }
        });
    }
    tell(&report);
    let contract = match read {
        Some(contract) if !report.has_errors() => contract,
        _ => return Exit::BadInput,
    };
    let mut files: Vec<(PathBuf, String, bool)> = Vec::new();
    let mut differing = Vec::new();
    for job in contract.expand(output) {
        let path = output.join(format!("{}.yaml", job.name));
        let same = match fs::read(&path) {
            Ok(bytes) => bytes == job.yaml.as_bytes(),
            Err(e) if e.kind() == io::ErrorKind::NotFound => false,
            Err(e) => {
                eprintln!("error: cannot read {}: {e}", path.display());
                return Exit::BadInput;
            }
        };
        if !same && path.exists() {
            differing.push(path.display().to_string());
        }
        files.push((path, job.yaml, same));
    }
    if !differing.is_empty() && !replace {
        eprintln!("error: these files are there and differ from the contract; nothing was written");
        differing.iter().for_each(|path| eprintln!("  {path}"));
        eprintln!("  = if nothing in them was written by hand, --replace writes them anew");
        return Exit::BadInput;
    }
    let mut paths = String::new();
    let mut exit = Exit::Done;
    for (path, yaml, same) in &files {
        match if *same {
            Ok(())
        } else {
            write_whole(path, yaml.as_bytes())
        } {
            Ok(()) => paths += &format!("{}\n", path.display()),
            Err(e) => {
                eprintln!("error: cannot write {}: {e}", path.display());
                exit = Exit::SomeFailed;
            }
        }
    }
    if paths.is_empty() {
        return Exit::BadInput;
    }
    exit.max(print(&paths))
}
