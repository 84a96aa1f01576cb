//! What may stand on the public page of a record. What the firm does not say is not published.

use crate::yaml::keys;

keys! {
    /// What of a job stands on the page behind its printed code. By default nothing that could name a person or a place: whoever
    /// finds a container still reads what it holds, when people may come back, and whom to call.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub struct Publish {
        /// Name and address of the site.
        site: bool, or(false, "no");
        /// The client's name; never the contact.
        client: bool, or(false, "no");
        /// Names and licences of the crew.
        crew: bool, or(false, "no");
        /// The areas by name, with size and times.
        areas: bool, or(false, "no");
        /// What the strips showed.
        readings: bool, or(false, "no");
        /// The deviations in words, which a person wrote and which may name one.
        deviations: bool, or(false, "no");
        /// The certificate, to download, with its digest: it names client, site and crew.
        certificate: bool, or(false, "no");
        /// A line in the index; without it a record is found by its code alone.
        index: bool, or(false, "no");
        /// Visits to come in that index too: whoever reads it learns when somebody will be where.
        planned: bool, or(false, "no");
    }
}
