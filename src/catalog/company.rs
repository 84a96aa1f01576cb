//! The company itself, and the file as a whole.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::Serialize;

use super::style::{self, Style};
use super::{Correction, Languages, Mail, Product, Publish, Regime, Sprayer, StateRule, Stock, Vessel, plain_key};
use crate::quantity::System;
use crate::report::Report;
use crate::yaml::{Node, Origin, Source};

/// Who does the work and answers for it.
#[derive(Clone, Debug, Serialize)]
pub struct Company {
    /// Name of the firm.
    pub name: String,
    /// Postal address.
    pub address: String,
    /// Telephone in office hours.
    pub phone: String,
    /// Telephone at any hour.
    pub emergency_phone: Option<String>,
    /// E-mail address.
    pub email: Option<String>,
    /// The licence the firm works under, as it is to be printed.
    pub licence: Option<String>,
}

/// One of the crew.
#[derive(Clone, Debug, Serialize)]
pub struct Member {
    /// Name.
    pub name: String,
    /// Licence or certificate number, as it is to be printed.
    pub licence: Option<String>,
}

/// The paper that sheets and certificates are printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PageSize {
    /// 8½ × 11 in.
    #[default]
    UsLetter,
    /// 210 × 297 mm.
    A4,
}

impl PageSize {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, PageSize)] = &[("us-letter", PageSize::UsLetter), ("a4", PageSize::A4)];
}

/// A company file, read.
#[derive(Debug)]
pub struct CompanyFile {
    /// The file itself.
    pub source: Arc<Source>,
    /// The firm.
    pub company: Company,
    /// Where the record of a job is found; `{record}` stands for its number and digest.
    pub record_link: String,
    /// Which units come first in print.
    pub units: System,
    /// The paper of sheets and certificates.
    pub page: PageSize,
    /// Whose rules hazards and labels follow.
    pub regime: Regime,
    /// The states whose rules for service containers labels follow too.
    pub state_rules: Vec<StateRule>,
    /// Which language each document is in.
    pub languages: Languages,
    /// How sheets and certificates look.
    pub style: Style,
    /// A folder of the firm's own templates, and where the file names it.
    pub templates: Option<(PathBuf, Origin)>,
    /// What may stand on the public page of a record.
    pub publish: Publish,
    /// How mail is sent.
    pub mail: Option<Mail>,
    /// Products by key.
    pub products: BTreeMap<String, Product>,
    /// Sprayers by key.
    pub sprayers: BTreeMap<String, Sprayer>,
    /// What solution is mixed in and poured into, by key.
    pub vessels: BTreeMap<String, Vessel>,
    /// Label stock by key.
    pub stock: BTreeMap<String, Stock>,
    /// What printers do wrong, by the printer's key.
    pub printers: BTreeMap<String, Correction>,
    /// Crew by key.
    pub crew: BTreeMap<String, Member>,
    /// Whether everybody who applies must have a licence. Unless the file says no, yes: the side that protects.
    pub licence_required: bool,
    /// Where the key that signs records lies, if there is one, and where the file names it.
    pub signing_key: Option<(PathBuf, Origin)>,
}

const KEYS: &[&str] = &[
    "company",
    "record_link",
    "units",
    "page",
    "regime",
    "state_rules",
    "language",
    "languages",
    "style",
    "templates",
    "publish",
    "mail",
    "products",
    "sprayers",
    "vessels",
    "stock",
    "printers",
    "crew",
    "licence_required",
    "signing_key",
];

impl CompanyFile {
    /// Reads a company file; every problem in it is told to `report`.
    pub fn read(file: &Path, report: &mut Report) -> Option<CompanyFile> {
        let source = Source::read(file, report)?;
        Self::from_source(&source, report)
    }

    pub(crate) fn from_source(source: &Arc<Source>, report: &mut Report) -> Option<CompanyFile> {
        let fields = source.root().fields(KEYS, report)?;
        let company = fields.need("company", report).and_then(|n| read_company(&n, report));
        let record_link = fields.need("record_link", report).and_then(|n| read_link(&n, report));
        let units = match fields.get("units") {
            Some(node) => node.choice(report, &[("us", System::Us), ("si", System::Si)]),
            None => Some(System::Us),
        };
        let page = match fields.get("page") {
            Some(node) => node.choice(report, PageSize::WORDS),
            None => Some(PageSize::default()),
        };
        let regime = match fields.get("regime") {
            Some(node) => node.choice(report, Regime::WORDS),
            None => Some(Regime::default()),
        };
        let state_rules = fields.get("state_rules").map(|n| read_states(&n, regime, report));
        let languages = Languages::read(&fields, report);
        let style = fields.get("style").and_then(|n| Style::read(&n, report));
        let templates = fields.get("templates").and_then(|n| Some((style::read_beside(&n, report)?, n.origin())));
        let licence_required = fields.get("licence_required").map_or(Some(true), |n| n.flag(report));
        let signing_key = fields.get("signing_key").and_then(|n| Some((source.beside(&n.text(report)?), n.origin())));
        let publish = fields.get("publish").and_then(|n| Publish::read(&n, report));
        let mail = fields.get("mail").and_then(|n| Mail::read(&n, report));
        let group = |key| fields.get(key);
        let (products, sprayers, stock, crew) = (group("products"), group("sprayers"), group("stock"), group("crew"));
        Some(CompanyFile {
            products: keyed(products, report, Product::read),
            sprayers: keyed(sprayers, report, |_, node, report| Sprayer::read(node, report)),
            vessels: keyed(group("vessels"), report, |_, node, report| Vessel::read(node, report)),
            stock: keyed(stock, report, |_, node, report| Stock::read(node, regime.unwrap_or_default(), report)),
            printers: keyed(group("printers"), report, |_, node, report| Correction::read(node, report)),
            crew: keyed(crew, report, |_, node, report| read_member(node, report)),
            source: source.clone(),
            company: company?,
            record_link: record_link?,
            units: units?,
            page: page?,
            regime: regime?,
            state_rules: state_rules.unwrap_or_default(),
            languages,
            style: style.unwrap_or_default(),
            templates,
            licence_required: licence_required?,
            signing_key,
            publish: publish.unwrap_or_default(),
            mail,
        })
    }
}

/// States whose rules labels follow too: only where the country's are those of the United States.
fn read_states(node: &Node<'_>, regime: Option<Regime>, report: &mut Report) -> Vec<StateRule> {
    if let Some(regime) = regime.filter(|r| !r.is_of_the_united_states()) {
        let message = format!("states of the United States do not go with the regime `{}`", regime.word());
        report.push(node.error("bad-state-rules", message));
    }
    let items = node.items_or_one(report).unwrap_or_default();
    items.iter().filter_map(|item| item.choice(report, StateRule::WORDS)).collect()
}

fn keyed<T>(
    group: Option<Node<'_>>,
    report: &mut Report,
    mut read: impl FnMut(&str, &Node<'_>, &mut Report) -> Option<T>,
) -> BTreeMap<String, T> {
    let mut found = BTreeMap::new();
    for (key, node) in group.and_then(|g| g.entries(report)).unwrap_or_default() {
        if !plain_key(&key) {
            let hint = "use letters, digits, `-`, `_` and `.` (at most 64): the key may become part of a file name";
            report.push(node.error("bad-name", format!("`{key}` cannot be used as a key")).hint(hint));
        }
        if let Some(value) = read(&key, &node, report) {
            found.insert(key, value);
        }
    }
    found
}

fn read_company(node: &Node<'_>, report: &mut Report) -> Option<Company> {
    let keys = &["name", "address", "phone", "emergency_phone", "email", "licence"];
    let fields = node.fields(keys, report)?;
    let (name, address, phone) =
        (fields.need_text("name", report), fields.need_text("address", report), fields.need_text("phone", report));
    Some(Company {
        emergency_phone: fields.text("emergency_phone", report),
        email: fields.text("email", report),
        licence: fields.text("licence", report),
        name: name?,
        address: address?,
        phone: phone?,
    })
}

fn read_member(node: &Node<'_>, report: &mut Report) -> Option<Member> {
    if node.is_scalar() {
        return Some(Member { name: node.text(report)?, licence: None });
    }
    let fields = node.fields(&["name", "licence"], report)?;
    let name = fields.need_text("name", report);
    Some(Member { licence: fields.text("licence", report), name: name? })
}

/// A link that a phone opens: https, short, with one `{record}` to fill in and nothing that needs escaping.
fn read_link(node: &Node<'_>, report: &mut Report) -> Option<String> {
    let text = node.text(report)?;
    let hint = "write it like `https://records.example/{record}`";
    let plain = |c: char| c.is_ascii_alphanumeric() || "-._~:/?#@!$&'()*+,;=%{}".contains(c);
    let complaint = if !text.starts_with("https://") {
        "the link must begin with `https://`".to_owned()
    } else if text.matches("{record}").count() != 1 {
        "the link must hold `{record}` once: the record's number and digest go there".to_owned()
    } else if !text.chars().all(plain) || text.replace("{record}", "").contains(['{', '}']) {
        "the link holds characters that a link cannot".to_owned()
    } else if text.len() > 48 {
        format!("the link has {} characters; at most 48 leave a code that a label printer can print", text.len())
    } else {
        return Some(text);
    };
    report.push(node.error("bad-link", complaint).hint(hint));
    None
}
