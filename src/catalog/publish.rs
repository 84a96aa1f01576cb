//! What may stand on the public page of a record. What the firm does not say is not published.

use crate::report::Report;
use crate::yaml::Node;

/// What of a job stands on the page behind its printed code. By default nothing that could name a person or a place:
/// whoever finds a container still reads what it holds, when people may come back, and whom to call.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Publish {
    /// Name and address of the site.
    pub site: bool,
    /// The client's name; never the contact.
    pub client: bool,
    /// Names and licences of the crew.
    pub crew: bool,
    /// The areas by name, with size and times.
    pub areas: bool,
    /// What the strips showed.
    pub readings: bool,
    /// The deviations in words, which a person wrote and which may name one.
    pub deviations: bool,
    /// The certificate, to download: it names client, site and crew.
    pub certificate: bool,
    /// A line in the index, by which a record is found without its code.
    pub index: bool,
}

impl Publish {
    pub(super) fn read(node: &Node<'_>, report: &mut Report) -> Option<Publish> {
        let keys = &["site", "client", "crew", "areas", "readings", "deviations", "certificate", "index"];
        let fields = node.fields(keys, report)?;
        let mut flag = |key| fields.get(key).and_then(|n| n.flag(report)).unwrap_or(false);
        Some(Publish {
            site: flag("site"),
            client: flag("client"),
            crew: flag("crew"),
            areas: flag("areas"),
            readings: flag("readings"),
            deviations: flag("deviations"),
            certificate: flag("certificate"),
            index: flag("index"),
        })
    }
}
