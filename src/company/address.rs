//! E-mail addresses, as strictly as every mail server takes them.

use crate::yaml::Complaint;

/// The longest address, in characters: a path of 256 octets less its angle brackets (RFC 5321, section 4.5.3.1.3).
const LONGEST: usize = 254;
/// The longest local part (RFC 5321, section 4.5.3.1.1).
const LONGEST_LOCAL: usize = 64;
/// The longest label of a domain name (RFC 1035, section 2.3.4).
const LONGEST_LABEL: usize = 63;

/// An e-mail address of plain ASCII: a dot-atom, `@`, and a domain name of two labels or more. Quoted local parts, comments,
/// address literals and letters outside ASCII are refused, though the standards know them: many servers do not take them, and a
/// character that looks like another could lead a certificate to a stranger.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Address {
    text: String,
    at: usize,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not an e-mail address: {why}")]
pub struct BadAddress {
    text: String,
    why: String,
}

impl Complaint for BadAddress {
    fn code(&self) -> &'static str {
        "bad-address"
    }
    fn message(&self) -> String {
        self.to_string()
    }
    fn hints(&self) -> Vec<String> {
        let outside = !self.text.is_ascii();
        vec![if outside {
            "write it in plain letters; a domain name with others has a form that begins with `xn--`".into()
        } else {
            "write it like `office@client.example`".into()
        }]
    }
}

impl Address {
    /// Reads an address.
    ///
    /// # Errors
    /// [`BadAddress`] with what is wrong.
    pub fn parse(text: &str) -> Result<Address, BadAddress> {
        let refuse = |why: String| Err(BadAddress { text: text.to_owned(), why });
        if let Some(c) = text.chars().find(|c| !c.is_ascii_graphic()) {
            return refuse(match c {
                ' ' => "there is a space in it".into(),
                c => format!("the character U+{:04X} cannot stand in one", u32::from(c)),
            });
        }
        let Some((local, domain)) = text.rsplit_once('@') else {
            return refuse("there is no `@` in it".into());
        };
        if text.len() > LONGEST || local.len() > LONGEST_LOCAL {
            return refuse("it is too long".into());
        }
        // RFC 5322, section 3.2.3: the characters of an atom
        let atom = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+-/=?^_`{|}~".contains(c);
        if local.is_empty() || local.split('.').any(str::is_empty) {
            return refuse("a part before the `@` is empty".into());
        }
        if let Some(c) = local.chars().find(|c| *c != '.' && !atom(*c)) {
            return refuse(format!("`{c}` cannot stand before the `@`"));
        }
        if !is_domain(domain) || !domain.contains('.') {
            return refuse(format!("`{domain}` is not a domain name"));
        }
        Ok(Address { text: text.to_owned(), at: local.len() })
    }

    pub fn as_str(&self) -> &str {
        &self.text
    }

    pub fn local(&self) -> &str {
        &self.text[..self.at]
    }

    pub fn domain(&self) -> &str {
        &self.text[self.at + 1..]
    }

    /// The same text for whatever leads to the same mailbox. Servers may tell `A@` from `a@` and hardly one does; here they are
    /// one, so that nobody is sent the same thing twice.
    pub fn folded(&self) -> String {
        self.text.to_ascii_lowercase()
    }
}

impl std::fmt::Display for Address {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

impl serde::Serialize for Address {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

/// Whether a text is a host's or a domain's name of letters, digits and hyphens (RFC 1123, section 2.1).
pub(super) fn is_domain(text: &str) -> bool {
    let is_label = |label: &str| {
        !label.is_empty()
            && label.len() <= LONGEST_LABEL
            && label.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
            && !label.starts_with('-')
            && !label.ends_with('-')
    };
    // a name that ends in a number could be taken for an address of the internet protocol
    let last = text.rsplit('.').next().unwrap_or_default();
    text.len() <= 253 && text.split('.').all(is_label) && !last.chars().all(|c| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn addresses_of_everyday_are_taken() {
        for text in
            ["a@b.example", "first.last+tag@mail.client.example", "o'hara@client.example", "x@xn--bcher-kva.example"]
        {
            let address = Address::parse(text).unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(format!("{}@{}", address.local(), address.domain()), text);
        }
        let (one, other) = (Address::parse("A.B@C.example"), Address::parse("a.b@c.EXAMPLE"));
        assert_eq!(one.map(|a| a.folded()), other.map(|a| a.folded()));
    }

    #[test]
    fn what_could_lead_elsewhere_is_refused() {
        for (text, why) in [
            ("", "no `@`"),
            ("nobody", "no `@`"),
            ("@client.example", "empty"),
            ("a..b@client.example", "empty"),
            (".a@client.example", "empty"),
            ("a@", "not a domain name"),
            ("a@client", "not a domain name"),
            ("a@-client.example", "not a domain name"),
            ("a@client..example", "not a domain name"),
            ("a@[192.0.2.1]", "not a domain name"),
            ("a@192.0.2.1", "not a domain name"),
            ("a@b@client.example", "`@` cannot stand before"),
            ("\"a\"@client.example", "`\"` cannot stand"),
            ("A <a@client.example>", "a space"),
            ("a@client.example>", "not a domain name"),
            ("a@client.example,b@client.example", "cannot stand before"),
            ("a@client.example\r\nBcc: b@client.example", "U+000D"),
            ("a\u{202E}@client.example", "U+202E"),
            ("a@cl\u{456}ent.example", "U+0456"),
            ("a\0@client.example", "U+0000"),
        ] {
            match Address::parse(text) {
                Ok(_) => panic!("{text:?} was taken"),
                Err(refused) => assert!(refused.to_string().contains(why), "{refused}"),
            }
        }
        let long = format!("{}@client.example", "a".repeat(65));
        assert!(Address::parse(&long).is_err());
        let long = format!("a@{}.example", "b".repeat(64));
        assert!(Address::parse(&long).is_err());
    }

    proptest! {
        #[test]
        fn whatever_is_taken_holds_one_at_and_nothing_that_ends_a_line(text in "\\PC{0,12}@?[a-z.\\-@\r\n]{0,12}") {
            if let Ok(address) = Address::parse(&text) {
                prop_assert!(address.as_str().bytes().all(|b| b.is_ascii_graphic() && !b"<>,;:\"()[]\\".contains(&b)));
                prop_assert_eq!(address.as_str().matches('@').count(), 1);
            }
        }
    }
}
