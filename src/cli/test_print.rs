//! `decant test-print`: where a printer puts things, on a kind of label stock.

use std::path::PathBuf;

use super::output::{self, Exit};
use crate::app::{Context, Failure, correction, lay_out, pdf, stock, valid};
use crate::diagnostic::Diagnostics;
use crate::document::test_print;
use crate::engine::Engine;
use crate::wording::Words;

/// Print outlines and rulers on a label stock, to see what a printer does wrong
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  decant test-print sheet-4x2 --company company.yaml\n  decant test-print sheet-4x2 --company company.yaml --printer office\n\nThe first page is laid over the stock, the second is measured. Print at actual size."
)]
pub(super) struct Args {
    /// Key of the label stock in the company file
    stock: String,
    /// The company file
    #[arg(long, value_name = "FILE")]
    company: PathBuf,
    /// PDF to write [default: `test-print-STOCK.pdf`]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Key of a printer in the company file: print corrected, to check the correction
    #[arg(long, value_name = "KEY")]
    printer: Option<String>,
}

impl Args {
    pub fn run(&self) -> Result<Exit, Failure> {
        let mut report = Diagnostics::new();
        let company = Context::default().company(&self.company, &mut report);
        let company = valid(company, &report)?;
        output::block(&report.to_string());
        let stock = stock(&self.stock, &company)?;
        let printer = self.printer.as_deref();
        let corrected = printer.map(|key| correction(key, &company)).transpose()?;
        let view = test_print(&Words::english()?, &self.stock, stock, printer.zip(corrected))?;
        let path = self.output.clone().unwrap_or_else(|| format!("{}.pdf", view.stem).into());
        output::check_output(&path)?;
        // the print is of no day: the date is the file format's first
        let date = jiff::civil::date(1980, 1, 1).at(0, 0, 0, 0);
        let typeset = lay_out(&Engine::new(), &view, &view.stem, date, &company)?;
        output::file(&path, &pdf(&view, &typeset)?)?;
        Ok(Exit::Done)
    }
}
