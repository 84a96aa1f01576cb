//! A label for a container that somebody just filled: a job made of the arguments, planned as every other.

use std::path::Path;
use std::sync::Arc;

use jiff::civil::DateTime;

use super::context::Context;
use super::documents::LabelOptions;
use super::failure::{Cause, Failure, valid};
use super::labels::{check_first, label_batches, label_run, stock, unknown};
use super::planned::{job_words, plan_with_link};
use crate::company::{CompanyFile, Directions, LINK_TOO_LONG, Product, Stock, Vessel};
use crate::diagnostic::Diagnostics;
use crate::document::{FilledNow, LabelOnly, View, label_of_now, urgent_cautions};
use crate::engine::Typeset;
use crate::job::{Filled, Job};
use crate::quantity::{Number, Volume, parse};

/// What is known of the container.
pub struct LabelNow<'a> {
    pub product: &'a str,
    pub directions: Option<&'a str>,
    /// A sprayer or vessel of the company file, or a volume.
    pub container: Option<&'a str>,
    pub stock: Option<&'a str>,
    pub by: Option<&'a str>,
    pub mixed: Option<DateTime>,
}

/// A label that is laid out.
pub struct LabelMade {
    pub view: View,
    pub typeset: Typeset,
    /// What is to be known before it is used, as messages.
    pub cautions: Vec<String>,
    /// Which stock was taken and why, where nobody named it.
    pub taken: Option<String>,
}

/// The link of a record that is not made; nothing prints it.
const NO_LINK: &str = "https://label.example/{record}";

/// The sizes that are tried where nobody says what the container holds, in US gallons: a label for the first that the product can
/// be measured into. Type and pictograms are then those of a gallon at least, which are not the smallest.
const GALLONS: [i64; 3] = [1, 5, 50];

/// Why a stock was taken where the label fits one before it without what it must never be mixed with.
const CARRIES: &str = "it is the first that also carries what it must never be mixed with, single labels before sheets, the \
                       smallest first";

impl LabelNow<'_> {
    /// Makes the label, on its own stock, or on the first that it fits on with what must never be mixed; else on the first that
    /// it fits on.
    pub fn make(&self, company: &Path, options: &LabelOptions, context: &Context) -> Result<LabelMade, Failure> {
        let mut found = Diagnostics::new();
        let company = context.company(company, &mut found);
        // no code is printed
        let mut report = Diagnostics::new();
        found.problems().iter().filter(|p| p.code != LINK_TOO_LONG).for_each(|p| report.push(p.clone()));
        let company = valid(company, &report)?;
        let product = company.products.get(self.product);
        let product = product.ok_or_else(|| unknown("product", self.product, company.products.keys()))?;
        let directions = self.directions(product)?;
        let vessels = self.vessels(&company, directions)?;
        let mut last = Failure::error("the company file has no label stock")
            .hint("add one: `stock: { roll-4x6: { label: 4 in x 6 in } }`");
        let (keys, why) = self.stocks(&company, vessels.first())?;
        let mut lacking = None;
        for key in &keys {
            match self.on_stock(key, &company, (product, directions), &vessels, options, context) {
                Ok(mut made) => {
                    let why = why.map(|why| if lacking.is_some() { CARRIES } else { why });
                    made.taken = why.map(|why| format!("printed on the stock `{key}`: {why}; `--stock` names another"));
                    if !made.typeset.left_off().iter().any(|key| key == "never-with") {
                        return Ok(made);
                    }
                    lacking = lacking.or(Some(made));
                }
                Err(failure) if failure.cause == Cause::Input => last = failure,
                Err(failure) => return Err(failure),
            }
        }
        lacking.ok_or(last)
    }

    fn on_stock(
        &self,
        key: &str,
        company: &Arc<CompanyFile>,
        (product, directions): (&Product, &Directions),
        vessels: &[Vessel],
        options: &LabelOptions,
        context: &Context,
    ) -> Result<LabelMade, Failure> {
        let unknown_time = jiff::civil::date(1980, 1, 1).at(0, 0, 0, 0);
        let plan = |vessel: &Vessel| {
            let mixed = self.mixed.unwrap_or(unknown_time);
            let filled = Filled { product, directions, vessel: vessel.clone(), stock: key, mixed };
            plan_with_link(Job::of_container(company, filled), NO_LINK)
        };
        let mut planned = Err(Failure::internal("no container"));
        for vessel in vessels {
            planned = plan(vessel);
            if planned.is_ok() {
                break;
            }
        }
        let planned = planned.map_err(|failure| match self.container {
            Some(_) => failure.hint("without `--container` the label gives the dilution alone"),
            None => failure,
        })?;
        let only = LabelOnly { treatment: Some(1), load: Some(1) };
        let mut run = label_run(options, company, context.ink)?;
        run.only = only;
        check_first(&run, &[key.to_owned()], company)?;
        let batches = label_batches(std::slice::from_ref(&planned), &run, context)?;
        let mut view = batches.into_iter().next().ok_or_else(|| Failure::internal("no label"))?.view;
        let words = job_words(&planned.job, context)?;
        let by = self.by.map(|by| company.crew.get(by).map_or(by, |member| &member.name));
        let filled = FilledNow { by, is_mixed: self.mixed.is_some(), is_sized: self.container.is_some() };
        let second = words.labels_second.as_deref().map(|words| planned.voice(words));
        label_of_now(&mut view, &planned.voice(&words.labels), second.as_ref(), &filled)?;
        let typeset = planned.lay_out(&view, &view.stem, context)?;
        let mut cautions = urgent_cautions(&planned.voice(&words.terminal))?;
        // no code is printed
        cautions.retain(|caution| !caution.starts_with("caution[link-invented]"));
        Ok(LabelMade { view, typeset, cautions, taken: None })
    }

    fn directions<'a>(&self, product: &'a Product) -> Result<&'a Directions, Failure> {
        match self.directions {
            Some(key) => {
                product.directions.get(key).ok_or_else(|| unknown("directions", key, product.directions.keys()))
            }
            None if product.directions.len() == 1 => {
                product.directions.values().next().ok_or_else(|| Failure::internal("no directions"))
            }
            None => {
                let keys: Vec<&str> = product.directions.keys().map(String::as_str).collect();
                let why = format!("the product `{}` has several directions", self.product);
                Err(Failure::error(why).hint(format_args!("add `--directions KEY`; there are: {}", keys.join(", "))))
            }
        }
    }

    /// The container, or those that it may be.
    fn vessels(&self, company: &CompanyFile, directions: &Directions) -> Result<Vec<Vessel>, Failure> {
        let origin = directions.origin.key("dilution");
        let Some(text) = self.container else {
            let exact = |gallons| Vessel::of_any_size(gallon().times(&Number::int(gallons)), origin.clone());
            return Ok(GALLONS.into_iter().map(exact).collect());
        };
        if let Some(vessel) = company.vessels.get(text) {
            return Ok(vec![vessel.clone()]);
        }
        if let Some(sprayer) = company.sprayers.get(text) {
            return Ok(vec![Vessel::of_sprayer(sprayer)]);
        }
        // `32floz`, as nobody quotes a space on a command line
        let unit = text.find(|c: char| c.is_ascii_alphabetic()).unwrap_or(text.len());
        let spaced = format!("{} {}", text[..unit].trim_end(), text[unit..].replace("floz", "fl oz"));
        match parse::volume(&spaced) {
            Ok(holds) if !holds.is_zero() => Ok(vec![Vessel::of_volume(spaced, holds, origin)]),
            Ok(_) => Err(Failure::error(format_args!("--container {text}: a container holds more than nothing"))
                .hint("give what it holds, such as `--container 32floz`")),
            Err(error) if text.starts_with(|c: char| c.is_ascii_digit()) => {
                let failure = Failure::error(format_args!("--container {}", error.message));
                Err(error.hints.into_iter().fold(failure, Failure::hint))
            }
            Err(_) => {
                let keys = company.vessels.keys().chain(company.sprayers.keys());
                Err(unknown("vessel or sprayer", text, keys)
                    .hint("or give what it holds, such as `--container 32floz`"))
            }
        }
    }

    /// The stock that is named, or that of the container; else all, single labels first and the smallest of them: a sheet of many
    /// for one label is a waste. And why these, where nobody names one.
    fn stocks(
        &self,
        company: &CompanyFile,
        vessel: Option<&Vessel>,
    ) -> Result<(Vec<String>, Option<&'static str>), Failure> {
        let own = vessel.and_then(|vessel| vessel.stock.as_deref());
        if let Some(key) = self.stock.or(own) {
            stock(key, company)?;
            let why = self.stock.is_none().then_some("the company file names it for this container");
            return Ok((vec![key.to_owned()], why));
        }
        let mut all: Vec<(&String, &Stock)> = company.stock.iter().collect();
        all.sort_by_key(|(_, stock)| (stock.per_page() > 1, stock.square_millimetres()));
        let why = match all.as_slice() {
            [_] => "it is the only one of the company file",
            _ => "it is the first on which the label fits, single labels before sheets, the smallest first",
        };
        Ok((all.into_iter().map(|(key, _)| key.clone()).collect(), Some(why)))
    }
}

fn gallon() -> Volume {
    // exact, by definition of the gallon: 231 cubic inches
    Volume::millilitres(Number::parse("3785.411784").unwrap_or_else(Number::one))
}
