//! Which language each document is in.

use std::path::{Path, PathBuf};

use crate::diagnostic::Diagnostics;
use crate::wording::Words;
use crate::yaml::{Declared, Line, Node, Shape, custom, keys};

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tongue {
    /// One that is built in, by its tag.
    BuiltIn(String),
    Own(PathBuf),
}

impl Tongue {
    /// From a tag, or the name of a file ending in `.yaml` or `.yml`, which lies in `folder`.
    ///
    /// # Errors
    /// What is wrong, and what could be written instead.
    pub fn named(text: &str, folder: &Path) -> Result<Tongue, (String, String)> {
        if text.ends_with(".yaml") || text.ends_with(".yml") {
            return Ok(Tongue::Own(folder.join(text)));
        }
        if Words::tags().any(|tag| tag == text) {
            return Ok(Tongue::BuiltIn(text.to_owned()));
        }
        let tags: Vec<&str> = Words::tags().collect();
        let hint = format!("one of: {}; or a language file of your own, ending in .yaml", tags.join(", "));
        Err((format!("the language `{text}` is not built in"), hint))
    }
}

impl Declared for Tongue {
    fn from_node(node: &Node<'_>, report: &mut Diagnostics) -> Option<Tongue> {
        let text = node.text(report)?;
        let folder = node.origin().source().beside("");
        match Tongue::named(&text, &folder) {
            Ok(tongue) => Some(tongue),
            Err((message, hint)) => report.fail(node.error("language-unknown", message).hint(hint)),
        }
    }

    fn shape() -> Shape {
        let tags: Vec<&str> = Words::tags().collect();
        Shape::line(format!("a language ({}), or a language file beside this one", tags.join(", ")), Line::Text)
    }
}

keys! {
    /// Documents that have a language of their own.
    #[derive(Clone, Debug, Default, PartialEq, Eq)]
    pub struct DocumentLanguages {
        /// Of labels: one, or two on the same label. The first is the one that counts where there is no room for both.
        /// Example: `[en, es]`
        labels: Vec<Tongue> = custom(read_labels, Vec::<Tongue>::shape), optional;
        /// Of the mix sheet. Example: `es`
        mix_sheet: Tongue, optional;
        /// Of the certificate. Example: `en`
        certificate: Tongue, optional;
    }
}

/// The languages that one file asks for; what it leaves open is `None` or empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Languages {
    /// Of everything that has none of its own.
    pub all: Option<Tongue>,
    /// Of labels: one, or two on the same label. The first is the one that counts where there is no room for both.
    pub labels: Vec<Tongue>,
    pub mix_sheet: Option<Tongue>,
    pub certificate: Option<Tongue>,
}

impl Languages {
    /// From the keys `language` and `languages` of a company or job file.
    pub fn new(all: Option<Tongue>, each: DocumentLanguages) -> Languages {
        let DocumentLanguages { labels, mix_sheet, certificate } = each;
        Languages { all, labels: labels.unwrap_or_default(), mix_sheet, certificate }
    }

    /// What a job's file asks for, and where it asks for nothing, what the company's does.
    pub fn or(&self, company: &Languages) -> Languages {
        let all = self.all.clone().or_else(|| company.all.clone());
        // A job in one language is in that language throughout, whatever the company has for a document.
        let one = |own: &Option<Tongue>, theirs: &Option<Tongue>| {
            let own = own.clone().or_else(|| self.all.clone());
            own.or_else(|| theirs.clone())
        };
        let labels = match (self.labels.is_empty(), &self.all) {
            (false, _) => self.labels.clone(),
            (true, Some(all)) => vec![all.clone()],
            (true, None) => company.labels.clone(),
        };
        Languages {
            labels,
            mix_sheet: one(&self.mix_sheet, &company.mix_sheet),
            certificate: one(&self.certificate, &company.certificate),
            all,
        }
    }
}

fn read_labels(node: &Node<'_>, report: &mut Diagnostics) -> Option<Vec<Tongue>> {
    let items = node.items_or_one(report)?;
    let mut labels: Vec<Tongue> = items.iter().filter_map(|n| Tongue::from_node(n, report)).collect();
    if items.is_empty() || items.len() > 2 {
        let message = format!("a label has one language or two, not {}", items.len());
        report.push(node.error("language-too-many", message));
    }
    labels.dedup();
    Some(labels)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::Source;

    fn read(text: &str) -> (Languages, String) {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("folder/company.yaml"), text.to_owned(), &mut report).unwrap();
        let all = source.root().get("language").and_then(|n| Tongue::from_node(&n, &mut report));
        let each = source.root().get("languages").and_then(|n| DocumentLanguages::from_node(&n, &mut report));
        (Languages::new(all, each.unwrap_or_default()), report.to_string())
    }

    fn tag(tag: &str) -> Tongue {
        Tongue::BuiltIn(tag.to_owned())
    }

    #[test]
    fn a_document_may_have_its_own() {
        let (company, reported) = read("language: es\nlanguages: { labels: [en, es], certificate: own.yaml }");
        assert_eq!(reported, "");
        assert_eq!(company.labels, [tag("en"), tag("es")]);
        let own = Tongue::Own(PathBuf::from("folder/own.yaml"));
        assert_eq!((company.mix_sheet.clone(), company.certificate.clone()), (None, Some(own)));
        let (open, _) = read("languages: {}");
        assert_eq!(open.or(&company), company);
    }

    #[test]
    fn the_job_goes_before_the_company() {
        let (company, _) = read("language: es\nlanguages: { labels: [en, es], certificate: en }");
        let (job, _) = read("language: fr\nlanguages: { mix_sheet: es }");
        let both = job.or(&company);
        assert_eq!(both.all, Some(tag("fr")));
        assert_eq!(both.labels, [tag("fr")]);
        assert_eq!(both.mix_sheet, Some(tag("es")));
        assert_eq!(both.certificate, Some(tag("fr")));
    }

    #[test]
    fn what_is_not_known_is_told_at_its_place() {
        for (text, parts) in [
            ("language: de", ["the language `de` is not built in", "one of: en, es, fr"]),
            ("languages: { labels: [en, es, fr] }", ["one language or two, not 3", "folder/company.yaml:1"]),
            ("languages: { sheet: es }", ["the key `sheet` is not known here", "mix_sheet"]),
        ] {
            let (_, reported) = read(text);
            for part in parts {
                assert!(reported.contains(part), "no {part:?} in:\n{reported}");
            }
        }
    }
}
