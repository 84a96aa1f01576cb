//! The words of the trade that a company file chooses from.

use crate::yaml::words;

words! {
    /// How a solution is applied.
    #[derive(PartialOrd, Ord, Hash)]
    pub enum Method {
        /// fine droplets from an electric mister
        Mist = "mist",
        /// a fog that fills the room
        Fog = "fog",
        /// droplets that are charged, so that surfaces draw them
        Electrostatic = "electrostatic",
        /// a coarse spray
        Spray = "spray",
        /// foam
        Foam = "foam",
        /// wiped on with a cloth
        Wipe = "wipe",
        /// mop and bucket
        Mop = "mop",
        /// dipped
        Dip = "dip",
    }
}

words! {
    /// What kind of surface a label's directions are for.
    pub enum Surface {
        /// hard, non-porous surfaces that food does not touch
        Hard = "hard",
        /// surfaces that food touches
        FoodContact = "food-contact",
    }
}

words! {
    /// A piece of protective equipment.
    #[derive(PartialOrd, Ord, Hash)]
    pub enum Equipment {
        /// eye protection
        Goggles = "goggles",
        /// worn over goggles
        FaceShield = "face-shield",
        /// chemical-resistant gloves
        Gloves = "gloves",
        /// as the safety data sheet names it
        Respirator = "respirator",
        /// an apron
        Apron = "apron",
        /// a protective suit
        Suit = "suit",
        /// boots
        Boots = "boots",
        /// a dust or face mask
        Mask = "mask",
    }
}
