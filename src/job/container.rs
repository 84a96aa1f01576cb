//! A job made of a few arguments: one product in one container, for a label of what somebody just filled. It has neither client nor
//! site, and goes the road of every other job; what it does not know is on no label.

use std::sync::Arc;

use jiff::civil::DateTime;

use super::shared_air::InMist;
use super::site::{Air, Site, Water};
use super::visit::Visit;
use super::{Area, Client, Gathered, Job, Part, PartKind, Treatment};
use crate::calc::food_contact::FoodPlace;
use crate::company::{CompanyFile, Directions, Languages, Method, Product, Sprayer, Vessel};
use crate::quantity::{self, Number, Share, Time, Volume};

/// What is in a container.
pub struct Filled<'a> {
    pub product: &'a Product,
    pub directions: &'a Directions,
    pub vessel: Vessel,
    /// The label stock, by key.
    pub stock: &'a str,
    /// When it was mixed.
    pub mixed: DateTime,
}

/// The order in which a method of the directions is taken: those that make no mist first. No label says it.
const METHODS: [Method; 8] = [
    Method::Dip,
    Method::Mop,
    Method::Spray,
    Method::Foam,
    Method::Wipe,
    Method::Mist,
    Method::Fog,
    Method::Electrostatic,
];

impl Job {
    /// A job of one treatment that takes more than the container holds, so that its first load is a full one.
    pub fn of_container(company: &Arc<CompanyFile>, filled: Filled<'_>) -> Job {
        let Filled { product, directions, vessel, stock, mixed } = filled;
        let origin = vessel.origin.clone();
        let method = METHODS.into_iter().find(|method| directions.methods.contains(method)).unwrap_or(Method::Wipe);
        let sprayer = Sprayer::of_vessel(&vessel, method);
        let laid = vessel.holds.times(&Number::int(2));
        let film = directions.coverage.as_ref().map_or_else(Sprayer::usual_film, quantity::Film::clone);
        let size = area_under(&laid, &film);
        let area = Area {
            name: vessel.name.clone(),
            parts: vec![Part { kind: PartKind::Surfaces, size: size.clone() }],
            size,
            outdoors: true,
            room: None,
            air_space: None,
            origin: origin.clone(),
        };
        let treatment = Treatment {
            product: product.clone(),
            directions: directions.clone(),
            sprayer_key: String::new(),
            sprayer,
            sprayers: 1,
            pour: None,
            areas: vec![0],
            beside: false,
            reserve: Share::of_one(Number::zero()),
            equal_loads: false,
            stock: stock.to_owned(),
            tank_rinsed: false,
            in_mist: InMist::Wait,
            origin,
            label_copies: None,
        };
        Job {
            source: company.source.clone(),
            company: company.clone(),
            number: "label".to_owned(),
            client: Client { name: String::new(), contact: None, email: None, certificates: Gathered::Each },
            site: Site {
                name: String::new(),
                address: String::new(),
                contact: None,
                email: None,
                phone: None,
                air: Air::default(),
                air_spaces: None,
                water: Water::default(),
                food_place: FoodPlace::PublicEatingPlace,
            },
            visit: Visit {
                start: mixed,
                crew: Vec::new(),
                mixing: Time::seconds(Number::zero()),
                longest: Time::seconds(Number::int(14 * 86_400)),
            },
            treatments: vec![treatment],
            areas: vec![area],
            notes: Vec::new(),
            label_times: false,
            service_log: None,
            log_trouble: None,
            languages: Languages::default(),
        }
    }
}

fn area_under(solution: &Volume, film: &quantity::Film) -> quantity::Area {
    quantity::Area::square_metres(solution.as_millilitres() / film.as_millilitres_per_square_metre())
}
