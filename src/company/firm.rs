//! The company itself, and the file as a whole.

use std::collections::BTreeMap;
use std::ops::Deref;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::Serialize;

use super::language::{DocumentLanguages, Languages, Tongue};
use super::style::{Style, read_beside};
use super::{Correction, Mail, Product, Publish, Regime, Sprayer, StateRule, Stock, Vessel};
use crate::diagnostic::Diagnostics;
use crate::quantity::System;
use crate::yaml::{Declared, FileKind, Node, Origin, Shape, Source, keys, text, words};

/// A company file, read. Its keys are read through it.
#[derive(Debug)]
pub struct CompanyFile {
    pub source: Arc<Source>,
    pub languages: Languages,
    keys: CompanyKeys,
}

impl Deref for CompanyFile {
    type Target = CompanyKeys;

    fn deref(&self) -> &CompanyKeys {
        &self.keys
    }
}

keys! {
    /// The company file: who we are and what we own, once for all jobs.
    #[derive(Debug)]
    pub struct CompanyKeys {
        /// The firm, as it stands on every document.
        /// Example: `{ name: Sallow & Pike Hygiene, address: 12 Quay Street, phone: 555-0100 }`
        company: Company, required;
        /// The link in the codes: `https://`, at most 48 characters, with `{record}` once, which becomes the record's number.
        /// Example: `https://records.example/{record}`
        record_link: String = text("a link", read_link), required;
        /// Which units come first in print.
        units: System, or(System::Us, "us");
        /// How dates and times are written; where nothing is said, as the units are: `us` with US units, `international` with metric.
        dates: Dates, optional;
        /// The paper of sheets and certificates.
        page: PageSize, or(PageSize::UsLetter, "us-letter");
        /// Whose rules hazards and labels follow.
        regime: Regime, or(Regime::UnitedStates, "united-states");
        /// States of the United States whose rules for service containers labels follow too. Example: `[california]`
        state_rules: Vec<StateRule>, or(Vec::new(), "[]");
        /// The language of all documents: English where nothing is said. Example: `es`, `house.yaml`
        language: Tongue, optional;
        /// The language of single documents. Example: `{ labels: [en, es] }`
        languages: DocumentLanguages, or(DocumentLanguages::default(), "that of all");
        /// The house style.
        style: Style, or(Style::default(), "none");
        /// A folder beside this file whose templates take the place of ours of the same name. Example: `house-templates`
        templates: (PathBuf, Origin) = text("a folder beside this file", read_placed), optional;
        /// What may stand on the page behind a printed code.
        publish: Publish, or(Publish::default(), "nothing");
        /// Who mail is from, and through which server it goes.
        mail: Mail, optional;
        /// By key: the products.
        products: BTreeMap<String, Product>, or(BTreeMap::new(), "none");
        /// By key: the sprayers.
        sprayers: BTreeMap<String, Sprayer>, or(BTreeMap::new(), "none");
        /// By key: what solution is mixed in and poured into.
        vessels: BTreeMap<String, Vessel>, or(BTreeMap::new(), "none");
        /// By key: the label stock.
        stock: BTreeMap<String, Stock>, or(BTreeMap::new(), "none");
        /// By key: what printers do wrong, as `decant test-print` measures it.
        printers: BTreeMap<String, Correction>, or(BTreeMap::new(), "none");
        /// By key: the crew. Example: `{ okafor: { name: R. Okafor, licence: PA-1 } }`
        crew: BTreeMap<String, Member>, or(BTreeMap::new(), "none");
        /// Whether everybody who applies must have a licence; with `no`, no certificate judges licences.
        licence_required: bool, or(true, "yes");
        /// A file beside this one with the key that signs records; `decant key` makes it. If its name with `.pub` is beside it,
        /// it must be the same key's. Example: `company.key`
        signing_key: (PathBuf, Origin) = text("a file", super::style::read_file), optional;
    }
    + origin
}

keys! {
    /// Who does the work and answers for it.
    #[derive(Clone, Debug, Serialize)]
    pub struct Company {
        /// Name of the firm. Example: `Sallow & Pike Hygiene`
        name: String, required;
        /// Postal address. Example: `12 Quay Street, Port Ansel`
        address: String, required;
        /// Telephone in office hours. Example: `+1 555 0100`
        phone: String, required;
        /// Telephone at any hour. Example: `+1 555 0199`
        emergency_phone: String, optional;
        /// E-mail address, as it is to be printed. Example: `office@firm.example`
        email: String, optional;
        /// The licence that the firm works under, as it is to be printed. Example: `PB-2210`
        licence: String, optional;
    }
}

#[derive(Clone, Debug, Serialize)]
pub struct Member {
    pub name: String,
    /// Licence or certificate number, as it is to be printed.
    pub licence: Option<String>,
}

keys! {
    /// One of the crew.
    struct MemberKeys {
        /// Name. Example: `R. Okafor`
        name: String, required;
        /// Licence or certificate number, as it is to be printed. Example: `PA-40117`
        licence: String, optional;
    }
}

impl Declared for Member {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Member> {
        if node.is_scalar() {
            return Some(Member { name: node.text(report)?, licence: None });
        }
        let MemberKeys { name, licence } = MemberKeys::from_node(node, report)?;
        Some(Member { name, licence })
    }

    fn shape() -> Shape {
        Shape::Either(vec![String::shape(), MemberKeys::shape()])
    }
}

words! {
    /// The paper that sheets and certificates are printed on.
    #[derive(Default)]
    pub enum PageSize {
        /// 8½ × 11 in
        #[default]
        UsLetter = "us-letter",
        /// 210 × 297 mm
        A4 = "a4",
    }
}

words! {
    /// How dates and times of day are written.
    pub enum Dates {
        /// as in the United States: `Mon, Apr 13, 2026`, `6:00 PM`
        Us = "us",
        /// the day first and the clock of 24 hours: `Mon 13 Apr 2026`, `18:00`
        International = "international",
    }
}

words! {
    for System {
        /// US customary units
        Us = "us",
        /// metric units
        Si = "si",
    }
}

impl CompanyFile {
    /// How dates are written.
    pub fn dates(&self) -> Dates {
        self.keys.dates.unwrap_or(match self.keys.units {
            System::Us => Dates::Us,
            System::Si => Dates::International,
        })
    }

    /// Reads a company file; every problem in it is reported.
    pub fn read(file: &Path, report: &mut Diagnostics) -> Option<CompanyFile> {
        Self::from_source(&Source::read(file, report)?, report)
    }

    pub(crate) fn from_source(source: &Arc<Source>, report: &mut Diagnostics) -> Option<CompanyFile> {
        if !FileKind::Company.fits(&source.root(), report) {
            return None;
        }
        let mut keys = CompanyKeys::from_node(&source.root(), report)?;
        let regime = keys.regime;
        if keys.origin.has("state_rules") && !regime.is_of_the_united_states() {
            let message = format!("states of the United States do not go with the regime `{}`", regime.word());
            report
                .push(keys.origin.key("state_rules").error("bad-state-rules", message).hint("take `state_rules` out"));
        }
        keys.stock.retain(|_, stock| stock.follow(regime, report));
        let languages = Languages::new(keys.language.clone(), keys.languages.clone());
        Some(CompanyFile { source: source.clone(), languages, keys })
    }
}

impl CompanyFile {
    /// Whether the link is the one that `decant new` writes: it leads nowhere.
    pub fn link_is_invented(&self) -> bool {
        self.record_link.starts_with("https://records.example/")
    }
}

fn read_placed(node: &Node<'_>, report: &mut Diagnostics) -> Option<(PathBuf, Origin)> {
    Some((read_beside(node, report)?, node.origin()))
}

/// The code of the error of a link that no code has room for; a label without a code may have one.
pub const LINK_TOO_LONG: &str = "link-too-long";

/// A link that a phone opens: https, short, with one `{record}` to fill in and nothing that needs escaping.
fn read_link(node: &Node<'_>, report: &mut Diagnostics) -> Option<String> {
    let text = node.text(report)?;
    let hint = "write it like `https://records.example/{record}`";
    let plain = |c: char| c.is_ascii_alphanumeric() || "-._~:/?#@!$&'()*+,;=%{}".contains(c);
    let complaint = if !text.starts_with("https://") {
        "the link must begin with `https://`".to_owned()
    } else if text.matches("{record}").count() != 1 {
        "the link must hold `{record}` once: the record's number and digest go there".to_owned()
    } else if !text.chars().all(plain) || text.replace("{record}", "").contains(['{', '}']) {
        "the link holds characters that a link cannot".to_owned()
    } else {
        if text.len() > 48 {
            let (long, over) = (text.len(), text.len() - 48);
            let complaint = format!(
                "the link has {long} characters with its `{{record}}`, {over} more than a code has room for that a label printer \
                 can print: shorten its host or its path"
            );
            report.push(node.error(LINK_TOO_LONG, complaint).hint(hint));
        }
        return Some(text);
    };
    report.fail(node.error("bad-link", complaint).hint(hint))
}
