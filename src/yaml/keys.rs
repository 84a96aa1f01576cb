//! The macros that declare keys and words: see [`keys`] and [`words`].

/// The text of `///` lines.
macro_rules! about {
    () => { "" };
    (#[doc = $line:literal] $($rest:tt)*) => { concat!($line, "\n", $crate::yaml::about!($($rest)*)) };
    (#[$($other:tt)*] $($rest:tt)*) => { $crate::yaml::about!($($rest)*) };
}

/// Declares a group of keys: the struct that holds them, its reader, and what schema and manual say of it.
///
/// ```text
/// keys! {
///     /// What the group is.
///     pub struct Pace {
///         /// How fast it moves along. Example: `60 ft/min`
///         speed: Speed = &range::PACE, required;
///         /// A name.
///         name: String, optional;                        // an `Option`
///         /// A product.
///         product: At<String>, wanted;                   // an `Option` too, reported where it is missing
///         /// Marks.
///         step: Mass = &range::MARK, or(one_gram(), "1 g");    // where the key is absent
///         /// Refused in words of its own, and in neither schema nor manual.
///         secret: () = text("nothing", refuse), hidden;
///     }
///     + origin                                           // a field of this name says where the group stands
///     & others                                           // keys that are declared elsewhere and read by hand
///     => check                                           // looks at the keys themselves, whether they can be read or not
/// }
/// ```
///
/// The type says how a value is read unless a [`Kind`] stands behind `=`. A value that cannot be read is reported and taken as
/// absent; a group that lacks what is `required` is itself absent, and one that lacks what is `wanted` goes on, so that later
/// checks find what else is wrong.
macro_rules! keys {
    (
        $(#[$($attr:tt)*])* $vis:vis struct $name:ident { $(
            $(#[$($about:tt)*])* $key:ident: $type:ty $(= $kind:expr)?, $presence:ident $(($default:expr, $shown:literal))?;
        )+ } $(+ $(#[$($hidden:tt)*])* $origin:ident)? $(& $more:path)? $(=> $also:path)?
    ) => {
        $(#[$($attr)*])*
        $vis struct $name {
            $($(#[$($about)*])* pub $key: $crate::yaml::keys!(@type $presence $type),)+
            $($(#[$($hidden)*])* pub(crate) $origin: $crate::yaml::Origin,)?
        }

        impl $crate::yaml::Declared for $name {
            fn from_node(node: &$crate::yaml::Node<'_>, report: &mut $crate::diagnostic::Diagnostics) -> Option<Self> {
                #[allow(unused_imports, reason = "not every group has a key without a kind")]
                use $crate::yaml::{Kind, Plain};
                #[allow(unused_mut, reason = "most groups have no other keys")]
                let mut known = vec![$(stringify!($key)),+];
                $(known.extend($more().iter().map(|key| key.name));)?
                const ABOUT: &[&str] = &[$($crate::yaml::about!($(#[$($about)*])*)),+];
                let fields = node.declared(&known, ABOUT, report)?;
                // all are read before any is missed, so that every problem is reported
                $(let $key = {
                    let kind = $crate::yaml::keys!(@kind $type $(= $kind)?);
                    $crate::yaml::keys!(@read fields report kind $key $presence $(($default))?)
                };)+
                $($also(&fields, report);)?
                Some($name {
                    $($key: $crate::yaml::keys!(@take $presence $key),)+
                    $($origin: node.origin(),)?
                })
            }

            fn shape() -> $crate::yaml::Shape {
                #[allow(unused_imports, reason = "not every group has a key without a kind")]
                use $crate::yaml::Plain;
                #[allow(unused_mut, reason = "most groups have no other keys")]
                let mut keys = vec![$($crate::yaml::Key {
                        name: stringify!($key),
                        about: $crate::yaml::about!($(#[$($about)*])*),
                        shape: $crate::yaml::Kind::shape(&$crate::yaml::keys!(@kind $type $(= $kind)?)),
                        presence: $crate::yaml::keys!(@presence $presence $($shown)?),
                    }),+];
                $(keys.extend($more());)?
                $crate::yaml::Shape::Group($crate::yaml::Group {
                    name: stringify!($name),
                    about: $crate::yaml::about!($(#[$($attr)*])*),
                    keys,
                })
            }
        }
    };

    (@type wanted $type:ty) => { Option<$type> };
    (@type optional $type:ty) => { Option<$type> };
    (@type hidden $type:ty) => { Option<$type> };
    (@type $presence:ident $type:ty) => { $type };

    (@kind $type:ty) => { Plain::<$type>::NEW };
    (@kind $type:ty = $kind:expr) => { $kind };

    (@read $fields:ident $report:ident $kind:ident $key:ident required) => {
        $fields.need(stringify!($key), $report).and_then(|node| Kind::read(&$kind, &node, $report))
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident wanted) => {
        $crate::yaml::keys!(@read $fields $report $kind $key required)
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident optional) => {
        $fields.get(stringify!($key)).and_then(|node| Kind::read(&$kind, &node, $report))
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident hidden) => {
        $crate::yaml::keys!(@read $fields $report $kind $key optional)
    };
    (@read $fields:ident $report:ident $kind:ident $key:ident or($default:expr)) => {
        match $fields.get(stringify!($key)) {
            Some(node) => Kind::read(&$kind, &node, $report).or_else(|| Some($default)),
            None => Some($default),
        }
    };

    (@take wanted $key:ident) => { $key };
    (@take optional $key:ident) => { $key };
    (@take hidden $key:ident) => { $key };
    (@take $presence:ident $key:ident) => { $key? };

    (@presence required) => { $crate::yaml::Presence::Required };
    (@presence wanted) => { $crate::yaml::Presence::Required };
    (@presence hidden) => { $crate::yaml::Presence::Hidden };
    (@presence optional) => { $crate::yaml::Presence::Optional };
    (@presence or $shown:literal) => { $crate::yaml::Presence::Default($shown) };
}

/// Declares the words that a file chooses from: the enum, its words, and what each means. `for` adds words to an enum of
/// another module.
macro_rules! words {
    ($(#[$($attr:tt)*])* $vis:vis enum $name:ident { $($(#[$($about:tt)*])* $variant:ident = $word:literal,)+ }) => {
        $(#[$($attr)*])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        $vis enum $name { $($(#[$($about)*])* $variant,)+ }

        impl $name {
            #[allow(dead_code, reason = "not all words are asked for as a whole")]
            pub const WORDS: &'static [(&'static str, $name)] = &[$(($word, $name::$variant)),+];

            /// The word a file uses.
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.word())
            }
        }

        $crate::yaml::words! { for $name { $($(#[$($about)*])* $variant = $word,)+ } }
    };
    (for $name:ident { $($(#[$($about:tt)*])* $variant:ident = $word:literal,)+ }) => {
        impl $crate::yaml::Declared for $name {
            fn from_node(node: &$crate::yaml::Node<'_>, report: &mut $crate::diagnostic::Diagnostics) -> Option<Self> {
                node.choice(report, &[$(($word, $name::$variant)),+])
            }

            fn shape() -> $crate::yaml::Shape {
                $crate::yaml::Shape::Words(&[$(($word, $crate::yaml::about!($(#[$($about)*])*))),+])
            }
        }
    };
}

pub(crate) use {about, keys, words};

#[cfg(test)]
mod tests {
    use std::path::Path;

    use crate::diagnostic::Diagnostics;
    use crate::quantity::{Time, range};
    use crate::table::TableShape;
    use crate::yaml::{Declared, Fields, Source, count, list_of};

    words! {
        /// How it is done.
        pub enum Way {
            /// the first way
            One = "one",
            /// the second way
            Other = "other",
        }
    }

    keys! {
        /// A thing.
        struct Thing {
            /// Its name. Example: `pump`
            name: String, required;
            /// How long it takes. Example: `10 min`
            time: Time = &range::CONTACT, wanted;
            /// How.
            way: Way, or(Way::One, "one");
            /// Parts of it.
            parts: Vec<Part> = list_of::<Part>(), or(Vec::new(), "[]");
        }
        + origin => not_both
    }

    keys! {
        /// A part.
        struct Part {
            /// How many.
            count: u32 = count(1, 9), optional;
        }
    }

    fn not_both(fields: &Fields<'_>, report: &mut Diagnostics) {
        if fields.holds("way") && fields.holds("parts") {
            report.push(fields.node().error("both", "a thing with a way has no parts"));
        }
    }

    fn read(text: &str) -> (Option<Thing>, String) {
        let mut report = Diagnostics::new();
        let source = Source::from_text(Path::new("t.yaml"), text.to_owned(), &mut report).expect("YAML");
        (Thing::from_node(&source.root(), &mut report), report.to_string())
    }

    #[test]
    fn every_problem_of_a_group_is_reported_at_once() {
        let (thing, reported) = read("nmae: x\ntime: 3 days\nway: noe\nparts: [{ count: 10 }]\n");
        assert!(thing.is_none());
        for part in [
            "did you mean `name`?",
            "a contact time lies between 1 s and 24 h",
            "did you mean `one`?",
            "`10` is not a count from 1 to 9",
            "a thing with a way has no parts",
        ] {
            assert!(reported.contains(part), "no {part:?} in:\n{reported}");
        }
    }

    #[test]
    fn what_is_absent_has_its_default_and_what_is_wanted_goes_on() {
        let (thing, reported) = read("name: x\n");
        let thing = thing.expect("a thing");
        assert!(reported.contains("`time` is missing here"), "{reported}");
        assert_eq!((thing.name.as_str(), thing.time.is_none(), thing.way), ("x", true, Way::One));
        assert!(thing.parts.iter().all(|part| part.count.is_none()) && !thing.origin.has("way"));
    }

    /// One declaration, and nothing else to write: the schema, the manual and the columns of a table have every key.
    #[test]
    fn schema_manual_and_columns_come_from_the_declaration() {
        let shape = Thing::shape();
        let schema = shape.schema("A thing");
        let keys: Vec<&String> = schema["properties"].as_object().expect("keys").keys().collect();
        assert_eq!(keys, ["name", "time", "way", "parts"]);
        assert_eq!(schema["required"], serde_json::json!(["name", "time"]));
        assert_eq!(schema["properties"]["time"]["examples"], serde_json::json!(["10 min"]));
        assert_eq!(schema["$defs"]["Part"]["properties"]["count"]["maximum"], 9);
        let manual = shape.manual();
        for line in [
            "name: text (required)",
            "      Range: 1 s to 24 h.",
            "way: one of one, other (one by default)",
            "      `other`: the second way.",
            "  count: a whole number from 1 to 9 (optional)",
        ] {
            assert!(manual.lines().any(|found| found == line), "no {line:?} in:\n{manual}");
        }
        let mut report = Diagnostics::new();
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("t.csv");
        std::fs::write(&file, "what,name,count\nname,x,\npart,,3\n").expect("written");
        let source = Source::read_table(&file, &TableShape::of(&shape), "", &mut report);
        let thing = source.and_then(|source| Thing::from_node(&source.root(), &mut report)).expect("a thing");
        assert_eq!((thing.name.as_str(), thing.parts[0].count), ("x", Some(3)));
    }
}
