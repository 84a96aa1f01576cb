//! `decant new`: files to begin with.

mod contract;
mod log;

use std::io::{self, BufRead, IsTerminal};
use std::path::{Path, PathBuf};

use clap::{Args as _, Command, Subcommand};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Serialize;

use super::manual::File;
use super::output::{self, Exit};
use crate::app::Failure;
use crate::diagnostic::Diagnostics;
use crate::start::{self, Answers};

/// Write a company file and a job to begin with, a log to fill in, or a contract of a table of sites
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    arg_required_else_help = true,
    after_help = "Example:\n  decant new shop\n  decant new shop --product \"Solvary Q-75\" --dilution \"2 fl oz/gal\" --contact-time \"10 min\"\n  decant new log shop/job.yaml\n  decant new contract sites.csv --company shop/company.yaml\n\nOn a terminal it asks for what no option says; an empty answer takes the example.\nEvery figure of an example is invented: compare it with the product's label and safety\ndata sheet. Until then the pages say DRAFT. Nothing that is there is written over."
)]
pub(super) struct Args {
    #[command(subcommand)]
    what: Option<What>,
    /// Folder for the company file, the job and their schemas
    folder: Option<PathBuf>,
    /// Ask nothing: take the example for what no option says
    #[arg(long)]
    no_questions: bool,
    #[command(flatten)]
    given: Given,
}

/// What is asked. The help of each is the question.
#[derive(Debug, clap::Args, Serialize)]
struct Given {
    /// The firm's name, as it stands on every document
    #[arg(long, value_name = "NAME")]
    company: Option<String>,
    /// The firm's postal address
    #[arg(long, value_name = "ADDRESS")]
    address: Option<String>,
    /// The firm's telephone
    #[arg(long, value_name = "NUMBER")]
    phone: Option<String>,
    /// Who goes to the site
    #[arg(long, value_name = "NAME")]
    crew: Option<String>,
    /// Their licence or certificate number
    #[arg(long, value_name = "NUMBER")]
    licence: Option<String>,
    /// The product's chemistry
    #[arg(long, value_parser = start::KINDS)]
    kind: Option<String>,
    /// The product's name, as on its label
    #[arg(long, value_name = "NAME")]
    product: Option<String>,
    /// Its registration number
    #[arg(long, value_name = "NUMBER")]
    registration: Option<String>,
    /// The signal word on its label: DANGER, WARNING, CAUTION or none
    #[arg(long, value_name = "WORD")]
    signal: Option<String>,
    /// Its actives, each with its percent, such as `didecyldimethylammonium chloride 7173-51-5 8.7 %`; commas between
    #[arg(long, value_name = "ACTIVES")]
    actives: Option<String>,
    /// Its density, from section 9 of its safety data sheet, such as `0.99 kg/L` (a specific gravity of 0.99 is that); or none
    #[arg(long, value_name = "DENSITY")]
    density: Option<String>,
    /// Its hazards, as section 2 of its safety data sheet has them, such as `Skin Corr. 1B, H318`; or none
    #[arg(long, value_name = "HAZARDS")]
    hazards: Option<String>,
    /// The date of that data sheet's revision
    #[arg(long, value_name = "DATE")]
    revised: Option<String>,
    /// What the label says it must never meet, commas between; or none
    #[arg(long, value_name = "WORDS")]
    never_with: Option<String>,
    /// The dilution, as the label writes it
    #[arg(long, value_name = "DILUTION")]
    dilution: Option<String>,
    /// The strength that the label states for that dilution, such as `660 ppm`; or none
    #[arg(long, value_name = "STRENGTH")]
    stated_strength: Option<String>,
    /// The contact time, as the label gives it
    #[arg(long, value_name = "TIME")]
    contact_time: Option<String>,
    /// How long the use solution may be kept, as the label says; or none
    #[arg(long, value_name = "TIME")]
    keeps: Option<String>,
    /// When people may come back, as the label says, such as `2 h` or `when dry`; or none
    #[arg(long, value_name = "TIME")]
    reentry: Option<String>,
    /// What it is put on with
    #[arg(long, value_parser = start::SPRAYERS)]
    sprayer: Option<String>,
    /// The client's name
    #[arg(long, value_name = "NAME")]
    client: Option<String>,
    /// The site's name
    #[arg(long, value_name = "NAME")]
    site: Option<String>,
    /// The site's address
    #[arg(long, value_name = "ADDRESS")]
    site_address: Option<String>,
    /// What is treated there
    #[arg(long, value_name = "AREA")]
    area: Option<String>,
    /// How large that is: its surfaces, such as `100 ft2`, or its floor, such as `30 ft x 28 ft`
    #[arg(long, value_name = "SIZE")]
    size: Option<String>,
    /// The job's number
    #[arg(long, value_name = "NUMBER")]
    job: Option<String>,
    /// When the work begins
    #[arg(long, value_name = "MOMENT")]
    start: Option<String>,
}

#[derive(Debug, Subcommand)]
enum What {
    Log(log::Args),
    Contract(contract::Args),
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        match (&self.what, &self.folder) {
            (Some(What::Log(args)), _) => args.run(),
            (Some(What::Contract(args)), _) => args.run(),
            (None, Some(folder)) => self.begin(folder),
            (None, None) => Err(Failure::error("where to? name a folder: `decant new shop`")),
        }
    }

    fn begin(&self, folder: &Path) -> Result<Exit, Failure> {
        if folder.is_file() {
            let why = format_args!("`{}` is a file, and a folder is to be made", folder.display());
            return Err(Failure::error(why).hint("name another folder"));
        }
        let today = today();
        let mut answers = self.given.answers()?;
        if !self.no_questions && io::stdin().is_terminal() && io::stderr().is_terminal() {
            ask(&mut answers, today, &mut io::stdin().lock())?;
        }
        let mut report = Diagnostics::new();
        start::check(&answers, today, &mut report)?;
        if report.has_errors() {
            return Err(report.into());
        }
        let start = start::start(&answers, today)?;
        let mut files = vec![
            (folder.join("company.yaml"), start.company.into_bytes()),
            (folder.join("job.yaml"), start.job.into_bytes()),
        ];
        for file in [File::Company, File::Job, File::Log, File::Contract] {
            let path = folder.join("schemas").join(format!("{}.schema.json", file.word()));
            files.push((path, format!("{:#}\n", file.schema()).into_bytes()));
        }
        output::new_files(&files)?;
        let job = folder.join("job.yaml");
        output::say(format_args!(
            "Every figure of a product that you did not give is invented. Compare {} with the",
            folder.join("company.yaml").display()
        ));
        output::say("product's label and safety data sheet, and take each out of `invented`; then write");
        output::say("`label_checked: yes`, and in the place of `record_link` your own. Until then");
        output::say("the pages say DRAFT. To see them:");
        output::say(format_args!("  decant render {}", job.display()));
        Ok(Exit::Done)
    }
}

impl Given {
    /// The options that were given, by their names.
    fn answers(&self) -> Result<Answers, Failure> {
        let given = serde_json::to_value(self).map_err(Failure::internal)?;
        let given = given.as_object().into_iter().flatten();
        Ok(given.filter_map(|(name, text)| Some((name.clone(), text.as_str()?.to_owned()))).collect())
    }
}

/// The day by universal time: no zone is known here, and whoever reads the file sees the day and can write another.
fn today() -> Date {
    TimeZone::UTC.to_datetime(Timestamp::now()).date()
}

/// Asks for whatever is not answered yet, one by one; an answer that cannot stand is asked for again.
fn ask(answers: &mut Answers, today: Date, from: &mut impl BufRead) -> Result<(), Failure> {
    let questions = Given::augment_args(Command::new("new"));
    for question in questions.get_arguments() {
        let name = question.get_id().as_str();
        if answers.contains_key(name) {
            continue;
        }
        let usual = start::defaults(answers.get("kind").map(String::as_str), today).remove(name).unwrap_or_default();
        let words = question.get_help().map(ToString::to_string).unwrap_or_default();
        let choices: Vec<String> =
            question.get_possible_values().iter().map(|value| value.get_name().to_owned()).collect();
        loop {
            let of = if choices.is_empty() { String::new() } else { format!(" ({})", choices.join(", ")) };
            let usual = match usual.as_str() {
                "" if name == "actives" => "the example's",
                "" => "none",
                usual => usual,
            };
            output::prompt(&format!("{words}{of} [{usual}]: "));
            let mut line = String::new();
            match from.read_line(&mut line) {
                Ok(0) => return Err(Failure::error("the answers ended; nothing was written")),
                Ok(_) => {}
                Err(e) => return Err(Failure::error(format_args!("the answer cannot be read: {e}"))),
            }
            let mut answer = line.trim();
            if answer.is_empty() {
                break;
            }
            if name == "sprayer" {
                answer = start::sprayer(answer).unwrap_or(answer);
            }
            if !choices.is_empty() && !choices.iter().any(|choice| choice == answer) {
                output::say(format_args!("one of: {}", choices.join(", ")));
                continue;
            }
            let mut report = Diagnostics::new();
            let mut tried: Answers = answers.clone();
            tried.insert(name.to_owned(), answer.to_owned());
            start::check(&tried, today, &mut report)?;
            if !report.has_errors() {
                *answers = tried;
                break;
            }
            output::block(&report.to_string());
        }
    }
    Ok(())
}

/// Where the schema of a file lies that `decant new` wrote, from the file's folder; it may lie further up.
fn schema_above(path: &Path, name: &str) -> Option<String> {
    let folder = path.parent()?;
    let mut found = (0..4).map(|up| format!("{}schemas/{name}.schema.json", "../".repeat(up)));
    found.find(|schema| folder.join(schema).is_file())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn asked(typed: &str) -> (Answers, Result<(), Failure>) {
        let mut answers = Answers::from([("site".to_owned(), "Gull Point".to_owned())]);
        let ended = ask(&mut answers, date(2026, 4, 13), &mut typed.as_bytes());
        (answers, ended)
    }

    #[test]
    fn an_empty_answer_takes_the_example_and_one_that_cannot_stand_is_asked_for_again() {
        let typed = "Acme Hygiene\n\n\n\n\nquatt\nquat\nSolvary Q-75\n\n\n\n\n\n\n\n2 fl oz\n2 fl oz/gal\n".to_owned()
            + &"\n".repeat(20);
        let (answers, ended) = asked(&typed);
        ended.expect("every question is answered");
        let expected = [
            ("company", "Acme Hygiene"),
            ("dilution", "2 fl oz/gal"),
            ("kind", "quat"),
            ("product", "Solvary Q-75"),
            ("site", "Gull Point"),
        ];
        let answers: Vec<(&str, &str)> =
            answers.iter().map(|(name, answer)| (name.as_str(), answer.as_str())).collect();
        assert_eq!(answers, expected);
    }

    #[test]
    fn answers_that_end_early_end_the_command() {
        let (_, ended) = asked("Acme Hygiene\n");
        assert!(ended.expect_err("no").text(true).contains("nothing was written"));
    }
}
