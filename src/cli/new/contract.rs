//! `decant new contract`: a contract of a table of sites.

use std::path::{Path, PathBuf};

use super::super::output::{self, Exit};
use super::{schema_above, today};
use crate::app::{Context, Failure, check_jobs, valid};
use crate::company::CompanyFile;
use crate::contract::{Contract, Past, Proposal, path_between, propose};
use crate::diagnostic::Diagnostics;
use crate::start::{self, Around};
use crate::yaml::Source;

/// Ways to do the work that are tried, at most: a company file may have very many.
const MOST_TRIED: usize = 40;

/// Look through a table of sites, and write a contract that proposes what its columns hold
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant new contract sites.xlsx --company company.yaml\n\nLists at once all that is not clear. What it writes can be expanded; lines that nobody has\ndecided yet say CHECK: the work, the crew, the days."
)]
pub(super) struct Args {
    /// The table: CSV, TSV or XLSX, the first row with the headings
    table: PathBuf,
    /// The company file [default: `company.yaml` beside the table]
    #[arg(long, value_name = "FILE")]
    company: Option<PathBuf>,
    /// File to write [default: `contract.yaml` beside the table]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

impl Args {
    /// Nothing is written while the table lacks what a contract must have.
    pub fn run(&self) -> Result<Exit, Failure> {
        let beside = |name: &str| self.table.with_file_name(name);
        let path = self.output.clone().unwrap_or_else(|| beside("contract.yaml"));
        output::check_output_file(&path)?;
        let mut report = Diagnostics::new();
        let proposal = valid(propose(&self.table, &mut report), &report)?;
        if !proposal.lacking.is_empty() {
            let lines = proposal.lacking.iter().chain(&proposal.unclear).map(|line| format!("  - {line}"));
            let why = format_args!("no contract can be made of {} yet; nothing was written:", self.table.display());
            return Err(Failure::error(why).lines(lines));
        }
        let company = self.company.clone().unwrap_or_else(|| beside("company.yaml"));
        if !company.exists() {
            let failure = Failure::error(format_args!("there is no company file {}", company.display()));
            return Err(failure.hint("name it with --company; `decant new DIR` writes one to begin with"));
        }
        let read = Context::default().company(&company, &mut report);
        let read = valid(read, &report)?;
        let text = self.text(&proposal, &path, &company, &read)?;
        output::new_files(&[(path.clone(), text.into_bytes())])?;
        output::names("Not clear, and decided one way in the file; look at each:", &proposal.unclear, " in the file");
        output::say("What nobody has decided yet says CHECK there: the work, the crew, the days.");
        Ok(Exit::Done)
    }

    /// The contract with the first way to do the work that every site can be planned with.
    fn text(&self, proposal: &Proposal, path: &Path, file: &Path, company: &CompanyFile) -> Result<String, Failure> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let stem = self.table.file_stem().unwrap_or_default().to_string_lossy().to_uppercase();
        let number: String = stem.chars().filter(char::is_ascii_alphanumeric).take(12).collect();
        let schema = schema_above(path, "contract");
        let around = Around {
            file: &path.file_name().unwrap_or_default().to_string_lossy(),
            table: &path_between(folder, &self.table),
            company: &path_between(folder, file),
            number: if number.is_empty() { "SITES" } else { &number },
            day: today(),
            schema: schema.as_deref(),
        };
        let mut first = None;
        for work in start::works(company).iter().take(MOST_TRIED) {
            let text = start::contract(proposal, work, company, &around)?;
            let mut report = Diagnostics::new();
            let contract = Source::from_text(path, text.clone(), &mut report)
                .and_then(|source| Contract::from_source(&source, &Past::default(), &mut report));
            if let Some(contract) = &contract {
                check_jobs(contract, &mut report);
            }
            if !report.has_errors() {
                return Ok(text);
            }
            first.get_or_insert(report);
        }
        Err(match first {
            Some(report) => {
                let unclear = proposal.unclear.iter().map(|line| format!("  - {line}"));
                Failure::from(&report).line("no contract can be made yet; nothing was written").lines(unclear)
            }
            None => Failure::error(format_args!("{} has no product and sprayer that go together", file.display()))
                .hint("a sprayer's method must be one that the product's directions name, and it needs `stock`"),
        })
    }
}
