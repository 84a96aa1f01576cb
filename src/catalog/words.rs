//! The words of the trade that a company file chooses from.

use serde::Serialize;

/// How a solution is applied.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Fine droplets from an electric mister.
    Mist,
    /// A fog that fills the room.
    Fog,
    /// Droplets that are charged, so that surfaces draw them.
    Electrostatic,
    /// A coarse spray.
    Spray,
    /// Foam.
    Foam,
    /// Wiped on with a cloth.
    Wipe,
    /// Mop and bucket.
    Mop,
    /// Dipped.
    Dip,
}

impl Method {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, Method)] = &[
        ("mist", Method::Mist),
        ("fog", Method::Fog),
        ("electrostatic", Method::Electrostatic),
        ("spray", Method::Spray),
        ("foam", Method::Foam),
        ("wipe", Method::Wipe),
        ("mop", Method::Mop),
        ("dip", Method::Dip),
    ];

    /// The word a file uses.
    pub fn word(self) -> &'static str {
        word_of(Self::WORDS, self)
    }
}

/// What kind of surface a label's directions are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Surface {
    /// Hard, non-porous surfaces that food does not touch.
    Hard,
    /// Surfaces that food touches.
    FoodContact,
}

impl Surface {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, Surface)] =
        &[("hard", Surface::Hard), ("food-contact", Surface::FoodContact)];
}

/// A piece of protective equipment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Equipment {
    /// Eye protection.
    Goggles,
    /// Face shield, worn over goggles.
    FaceShield,
    /// Chemical-resistant gloves.
    Gloves,
    /// Respirator, as the safety data sheet names it.
    Respirator,
    /// Apron.
    Apron,
    /// Protective suit.
    Suit,
    /// Boots.
    Boots,
    /// Dust or face mask.
    Mask,
}

impl Equipment {
    /// The words a file may use.
    pub const WORDS: &'static [(&'static str, Equipment)] = &[
        ("goggles", Equipment::Goggles),
        ("face-shield", Equipment::FaceShield),
        ("gloves", Equipment::Gloves),
        ("respirator", Equipment::Respirator),
        ("apron", Equipment::Apron),
        ("suit", Equipment::Suit),
        ("boots", Equipment::Boots),
        ("mask", Equipment::Mask),
    ];

    /// The word a file uses.
    pub fn word(self) -> &'static str {
        word_of(Self::WORDS, self)
    }
}

fn word_of<T: Copy + PartialEq>(words: &'static [(&'static str, T)], value: T) -> &'static str {
    words.iter().find(|(_, v)| *v == value).map_or("", |(word, _)| word)
}
