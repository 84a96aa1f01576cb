//! Which sprayers put droplets into the air that people breathe. Everything that turns on it asks here.
//!
//! Mist, fog and electrostatic spray do so by their nature. So does every sprayer whose droplets are small, whatever its
//! method is called: the inhalable fraction is a 50 % cut at an aerodynamic diameter of 100 µm (ISO 7708; EN 481). That
//! standard sets no limit for sprayers. No published rule draws a line there; it is chosen because it protects.

use super::{Directions, Method, Sprayer};
use crate::diagnostic::Diagnostics;
use crate::quantity::{Length, Number};
use crate::yaml::Origin;

/// Why a sprayer's droplets are breathed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Airborne {
    /// Its method makes droplets that float.
    ByMethod,
    /// Its droplets are under 100 µm, whatever its method is called.
    ByDroplet,
}

impl Airborne {
    /// Why, for a method and a median droplet diameter; `None` where nothing known says that the spray is breathed in.
    pub fn of(method: Method, droplet: Option<&Length>) -> Option<Airborne> {
        match method {
            Method::Mist | Method::Fog | Method::Electrostatic => Some(Airborne::ByMethod),
            Method::Spray | Method::Foam | Method::Wipe | Method::Mop | Method::Dip => {
                droplet.is_some_and(|droplet| droplet.as_metres() < &inhalable()).then_some(Airborne::ByDroplet)
            }
        }
    }
}

impl Sprayer {
    /// Why its droplets are breathed in, if they are.
    pub fn airborne(&self) -> Option<Airborne> {
        Airborne::of(self.method, self.droplet.as_ref())
    }
}

/// What label and agency ask of the droplets themselves, once the directions name the sprayer's method. `named` is the
/// treatment's `sprayer`.
///
/// Small droplets of a sprayer that is called something else count as mist: the directions then name mist, fog or
/// electrostatic spray too. EPA does not recommend these unless the label has directions for them, and has reviewed
/// neither safety nor effect without (page on fogging, fumigation and electrostatic spraying, archive of January 2021).
/// An electrostatic spray has a volume median diameter of 40 µm or more, whatever nozzle is fitted (EPA's conditions for
/// electrostatic spraying, as a focus sheet on them quotes them).
pub(crate) fn check_droplets(directions: &Directions, sprayer: &Sprayer, named: &Origin, report: &mut Diagnostics) {
    if !directions.methods.contains(&sprayer.method) {
        return;
    }
    let for_mist = |method: &Method| Airborne::of(*method, None).is_some();
    if sprayer.airborne() == Some(Airborne::ByDroplet) && !directions.methods.iter().any(for_mist) {
        let message = format!(
            "this sprayer's droplets are under 100 µm and count as mist, whatever its method is called, and the \
             directions `{}` name neither mist nor fog nor electrostatic spray",
            directions.key
        );
        let hint = "droplets under 100 µm are breathed in (ISO 7708, EN 481): use a sprayer or nozzle with larger \
                    droplets, or wipe; name a method in `methods` only if the product label has directions for it";
        report.push(named.error("method-not-on-label", message).hint(hint));
    }
    let least = Number::ratio(40, 1_000_000);
    if sprayer.method == Method::Electrostatic && sprayer.droplet.as_ref().is_some_and(|d| d.as_metres() < &least) {
        let message =
            "an electrostatic sprayer's droplets have a median diameter of 40 µm or more, whatever nozzle is fitted";
        let hint = "fit a nozzle with larger droplets and write its `droplet`, or use another sprayer \
                    (EPA's conditions for electrostatic spraying)";
        let place = sprayer.origin.key("droplet");
        report.push(place.error("electrostatic-droplet", message).hint(hint));
    }
}

fn inhalable() -> Number {
    Number::ratio(100, 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn micrometres(n: i64) -> Length {
        Length::metres(Number::ratio(n, 1_000_000))
    }

    #[test]
    fn mist_fog_and_electrostatic_spray_are_airborne_whatever_is_known_of_their_droplets() {
        for method in [Method::Mist, Method::Fog, Method::Electrostatic] {
            for droplet in [None, Some(micrometres(20)), Some(micrometres(400))] {
                assert_eq!(Airborne::of(method, droplet.as_ref()), Some(Airborne::ByMethod), "{method:?}");
            }
        }
    }

    #[test]
    fn any_sprayer_is_airborne_under_a_hundred_micrometres_and_not_at_a_hundred() {
        for (word, method) in Method::WORDS {
            if Airborne::of(*method, None).is_some() {
                continue;
            }
            assert_eq!(Airborne::of(*method, Some(&micrometres(99))), Some(Airborne::ByDroplet), "{word}");
            assert_eq!(Airborne::of(*method, Some(&micrometres(100))), None, "{word}");
        }
    }
}
