//! The stores, the workbook they are kept in, and what a year of them comes to: calendar and sums by arithmetic of this test's own.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime, Weekday, date};
use jiff::{Span, ToSpan};
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};

/// Routes with their crew, which two of them share, and the weekday that they are driven on.
pub const ROUTES: [(&str, &str, Weekday); 4] = [
    ("north", "okafor", Weekday::Monday),
    ("south", "lindqvist", Weekday::Tuesday),
    ("east", "marsh", Weekday::Wednesday),
    ("west", "okafor", Weekday::Thursday),
];

/// The day from which the other product is used.
pub const CHANGE: Date = date(2026, 7, 1);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Product {
    pub name: &'static str,
    /// Fluid ounces in a gallon of water.
    pub ounces: u32,
}

pub const FIRST: Product = Product { name: "Solvary Q-75", ounces: 2 };
pub const SECOND: Product = Product { name: "Solvary Q-50", ounces: 3 };

pub fn product(day: Date) -> Product {
    if day < CHANGE { FIRST } else { SECOND }
}

#[derive(Clone, Debug)]
pub struct Store {
    pub number: u32,
    pub route: usize,
    pub floor: u32,
    /// Zero where it has none.
    pub restrooms: u32,
    pub until: Option<Date>,
}

impl Store {
    pub fn name(&self) -> String {
        format!("Store {}", self.number)
    }

    /// Quarters of a gallon of water in each load: a gallon treats 200 ft2, 5 % more is mixed, and the pump holds 3 gal.
    pub fn loads(&self, day: Date) -> Vec<u32> {
        let solution = 128 + product(day).ounces;
        let mut left = ((self.floor + self.restrooms) * 105 * 4 * 128).div_ceil(200 * 100 * solution);
        let full = 3 * 4 * 128 / solution;
        let mut loads = Vec::new();
        while left > 0 {
            loads.push(left.min(full));
            left -= left.min(full);
        }
        loads
    }
}

pub fn stores(count: u32) -> Vec<Store> {
    let store = |n: u32| Store {
        number: 100 + n,
        route: n as usize % ROUTES.len(),
        floor: 310 + n * 37 % 260,
        restrooms: if n % 5 == 3 { 0 } else { 40 + n % 7 * 10 },
        until: None,
    };
    (0..count).map(store).collect()
}

/// The workbook as an office keeps it: plain numbers, capitals and spaces anyhow, dates and telephone numbers as such.
pub fn workbook(stores: &[Store]) -> Vec<u8> {
    let mut book = Workbook::new();
    let day = Format::new().set_num_format("m/d/yy");
    let sheet = book.add_worksheet().set_name("Stores 2026 ").expect("a sheet");
    let headings = [
        "Store no",
        "Store",
        "Street",
        "ZIP",
        "Type",
        "Van",
        "Stop",
        "Sales floor (sq ft)",
        "Restrooms (sq ft)",
        "Phone",
        "Opened",
    ];
    for (at, heading) in (0..).zip(headings) {
        sheet.write(0, at, heading).expect("a cell");
    }
    for (row, store) in (1..).zip(stores) {
        let n = store.number;
        let route = ROUTES[store.route].0;
        let route = if n % 3 == 0 { route.to_uppercase() } else { route.to_owned() };
        sheet.write(row, 0, n).expect("a cell");
        sheet.write(row, 1, format!("{} ", store.name())).expect("a cell");
        sheet.write(row, 2, format!("{n} Quay Street")).expect("a cell");
        sheet.write(row, 3, format!("{:05}", n * 7)).expect("a cell");
        sheet.write(row, 4, ["Corner store", "corner store", "CORNER-STORE "][n as usize % 3]).expect("a cell");
        sheet.write(row, 5, route).expect("a cell");
        sheet.write(row, 6, n).expect("a cell");
        sheet.write(row, 7, store.floor).expect("a cell");
        match store.restrooms {
            0 => sheet.write(row, 8, "None").expect("a cell"),
            size => sheet.write(row, 8, size).expect("a cell"),
        };
        sheet.write(row, 9, 5_555_550_000_u64 + u64::from(n)).expect("a cell");
        let opened = ExcelDateTime::from_ymd(2019, 5, 1 + (n % 28) as u8).expect("a day");
        sheet.write_with_format(row, 10, &opened, &day).expect("a cell");
    }
    book.save_to_buffer().expect("a workbook")
}

/// A visit, by the calendar on the wall.
#[derive(Clone, Debug)]
pub struct Visit {
    pub job: String,
    pub store: Store,
    /// The day that its number names, and the moment it begins.
    pub day: Date,
    pub start: DateTime,
}

/// What is changed in the year: routes that are moved, and days of a route that are left out.
#[derive(Clone, Debug, Default)]
pub struct Changes {
    pub moved: Vec<(usize, Date, DateTime)>,
    pub except: Vec<(usize, Date)>,
}

/// All visits of the year: each route on the first of its weekdays in a month from half past eleven at night, one store an hour.
pub fn visits(stores: &[Store], changes: &Changes) -> Vec<Visit> {
    let mut all = Vec::new();
    for (month, (route, (_, _, weekday))) in
        (1..=12).flat_map(|month| ROUTES.iter().enumerate().map(move |r| (month, r)))
    {
        let mut day = date(2026, month, 1).nth_weekday_of_month(1, *weekday).expect("a day");
        // Labor Day
        if day == date(2026, 9, 7) {
            day = day.tomorrow().expect("a day");
        }
        if changes.except.contains(&(route, day)) {
            continue;
        }
        let moved = changes.moved.iter().find(|(r, from, _)| (*r, *from) == (route, day)).map(|(.., to)| *to);
        let first = moved.unwrap_or(day.at(23, 30, 0, 0));
        let open = stores.iter().filter(|s| s.route == route && s.until.is_none_or(|until| first.date() <= until));
        for (stop, store) in open.enumerate() {
            let job = format!("{}-{}", store.number, day.strftime("%Y%m%d"));
            let after: Span = (stop as i64).hours();
            all.push(Visit { job, store: store.clone(), day, start: first + after });
        }
    }
    all
}

/// Quarters of a fluid ounce, as people write them.
pub fn ounces(quarters: u32) -> String {
    let (whole, rest) = (quarters / 4, ["", ".25", ".5", ".75"][quarters as usize % 4]);
    format!("{whole}{rest}")
}

/// What is in the register for a site, a month and a product: treatments, and quarters of a fluid ounce.
pub type Sums = BTreeMap<(String, String, &'static str), (u32, u32)>;
