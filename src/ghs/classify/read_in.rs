//! Where the figures of a rule were read. It stands in every reason, so that whoever uses a figure can see what it rests on.

/// In the text of the rule that the reason names, or in the safety data sheet.
pub const THE_RULE: &str = "the rule's own text";

/// CLP Tables 3.5.2, 3.6.2 and 3.7.2.
pub const TRGS_CMR: &str = "TRGS 201 (2017), 2.2.5, which applies the same figures";

/// CLP Tables 3.8.3 and 3.9.4, and 3.8.3.4.5.
pub const TRGS_STOT: &str = "TRGS 201 (2017), 2.2.6, which applies the same figures";

/// CLP Table 3.1.2.
pub const AGENCY_GUIDE: &str = "Umweltbundesamt, guide to the CLP Regulation, Table 6.3, which prints the same table";

/// CLP Table 3.4.5 and 3.3.3.1.2.
pub const REPRINT: &str = "a reprint of the table, not the Official Journal";

/// Tables of the EU that could not be read and whose counterpart in the United States could.
pub const UNITED_STATES_TWIN: &str =
    "not verified against the published text; the same figures as in the counterpart in 29 CFR 1910.1200";

/// A figure that no text at hand gave.
pub const NOT_VERIFIED: &str = "not verified against the published text";

/// A figure of our own.
pub const OWN: &str = "no published rule; chosen because it protects";
