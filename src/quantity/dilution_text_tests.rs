//! Dilutions as labels write them, good and bad.

use super::dilution::{Basis, Dilution};
use super::dose::Form;
use super::kinds::{Mass, Share, Strength, Volume};
use super::number::Number;
use super::parse::{mass, volume};

fn read(text: &str, form: Form) -> Dilution {
    Dilution::parse(text, form, Basis::AddedTo).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn liquid(product: &str, per: &str, basis: Basis) -> Dilution {
    Dilution::Liquid { product: volume(product).unwrap(), per: volume(per).unwrap(), basis }
}

fn parts(product: i64, per: i64, basis: Basis) -> Dilution {
    Dilution::Parts { product: Number::int(product), per: Number::int(per), basis }
}

#[test]
fn liquids() {
    use Basis::{AddedTo, MadeUpTo};
    let added = liquid("2 fl oz", "1 gal", AddedTo);
    for text in [
        "2 fl oz/gal",
        "2 oz/gal",
        "2 fl oz per gal",
        "2 FL. OZ. / GAL.",
        "2 fl oz per 1 gal of water",
        "2 fl oz in 1 gal",
        "2 fluid ounces to 1 gallon of water",
        "2 fl oz added to 1 gal",
        "2 fl oz to each gallon of water",
        "4 tbsp/gal",
        "2 fl oz of concentrate per gallon water",
        "2 fl oz per 128 oz",
        "2 fl oz per gallon of cool water",
    ] {
        assert_eq!(read(text, Form::Liquid), added, "{text}");
    }
    let made = liquid("2 fl oz", "1 gal", MadeUpTo);
    for text in [
        "2 fl oz per gal of solution",
        "2 fl oz to make 1 gal",
        "2 fl oz with water to make 1 gal",
        "2 fl oz made up to 1 gal",
        "2 fl oz in 1 gal of use solution",
        "2 fl oz/gal solution",
    ] {
        assert_eq!(read(text, Form::Liquid), made, "{text}");
    }
    assert_eq!(Dilution::parse("2 fl oz/gal", Form::Liquid, MadeUpTo).unwrap(), made);
    assert_eq!(Dilution::parse("2 fl oz/gal of water", Form::Liquid, MadeUpTo).unwrap(), added);
    assert_eq!(read("8 mL/L", Form::Liquid), liquid("8 mL", "1 L", AddedTo));
    assert_eq!(read("10 oz per 5 gal", Form::Liquid), liquid("10 fl oz", "5 gal", AddedTo));
}

#[test]
fn parts_added_to_and_parts_in_all() {
    for text in ["1:64", "1 : 64", "1 + 64", "1 to 64", "1 part to 64 parts water", "1 part in 64 parts of water"] {
        assert_eq!(read(text, Form::Liquid), parts(1, 64, Basis::AddedTo), "{text}");
        // What a label says in parts does not depend on what "per" means.
        assert_eq!(
            Dilution::parse(text, Form::Liquid, Basis::MadeUpTo).unwrap(),
            parts(1, 64, Basis::AddedTo),
            "{text}"
        );
    }
    for text in
        ["1 in 64", "1 part in 64", "1 part in 64 parts", "1 part in 64 parts in all", "1 part to make 64 parts"]
    {
        assert_eq!(read(text, Form::Liquid), parts(1, 64, Basis::MadeUpTo), "{text}");
    }
    // WHO, Infection prevention and control of epidemic- and pandemic-prone acute respiratory infections (2014), Table G.1.
    assert_eq!(read("2 parts + 98 parts water", Form::Liquid), parts(2, 98, Basis::AddedTo));
    assert_eq!(read("1:1", Form::Liquid), parts(1, 1, Basis::AddedTo));
}

#[test]
fn shares_strengths_powders_tablets() {
    let half = Dilution::Percent { share: Share::percent(Number::ratio(1, 2)) };
    for (text, form) in [
        ("0.5 %", Form::Liquid),
        ("0.5%", Form::Powder),
        ("½ %", Form::Liquid),
        ("0.5 per cent", Form::Liquid),
        ("0.5 % v/v", Form::Liquid),
        ("0.5 % w/v", Form::Powder),
        ("0.5 % solution", Form::Liquid),
    ] {
        assert_eq!(read(text, form), half, "{text}");
    }
    for form in [Form::Liquid, Form::Powder, Form::Tablet] {
        let target = Dilution::Target { strength: Strength::milligrams_per_litre(Number::int(400)) };
        assert_eq!(read("400 ppm", form), target);
        assert_eq!(read("400 parts per million", form), target);
    }
    let powder = |product: Mass, per: Volume| Dilution::Powder { product, per, basis: Basis::AddedTo };
    assert_eq!(read("10 g/L", Form::Powder), powder(mass("10 g").unwrap(), volume("1 L").unwrap()));
    assert_eq!(read("1 oz/gal", Form::Powder), powder(mass("1 oz wt").unwrap(), volume("1 gal").unwrap()));
    let tablets = |count, per: &str| Dilution::Tablets {
        count: Number::int(count),
        per: volume(per).unwrap(),
        basis: Basis::AddedTo,
    };
    assert_eq!(read("2 tablets/10 L", Form::Tablet), tablets(2, "10 L"));
    assert_eq!(read("1 tablet per gal", Form::Tablet), tablets(1, "1 gal"));
    assert_eq!(read("1 tab in 5 litres of water", Form::Tablet), tablets(1, "5 L"));
    for text in ["ready to use", "Ready-to-use", "RTU", "undiluted"] {
        assert_eq!(read(text, Form::ReadyToUse), Dilution::ReadyToUse, "{text}");
        assert_eq!(read(text, Form::Liquid), Dilution::ReadyToUse, "{text}");
    }
}

#[test]
fn bad_dilutions_say_why() {
    use Form::{Liquid, Powder, ReadyToUse, Tablet};
    for (text, form, says) in [
        ("", Liquid, "nothing is written"),
        ("2", Liquid, "`2 fl oz/gal`"),
        ("2/gal", Liquid, "`2 fl oz/gal`"),
        ("10/L", Powder, "`10 g/L`"),
        ("2/10 L", Tablet, "not for how much"),
        ("1/64", Liquid, "`1 in 64`"),
        ("1 part per 64 parts", Liquid, "two ways"),
        ("64:1", Liquid, "`1:64`"),
        ("1 in 1", Liquid, "no water"),
        ("2 in 1", Liquid, "no water"),
        ("0:64", Liquid, "no dilution"),
        ("1:0", Liquid, "no dilution"),
        ("1 in 0", Liquid, "no dilution"),
        ("0 fl oz/gal", Liquid, "no dilution"),
        ("2 fl oz/0 gal", Liquid, "above 0"),
        ("2 gal to make 1 gal", Liquid, "no room"),
        ("0 %", Liquid, "more than 0"),
        ("100 %", Liquid, "no water"),
        ("150 %", Liquid, "no water"),
        ("0 ppm", Liquid, "above 0"),
        ("-2 fl oz/gal", Liquid, "below nought"),
        ("10 g/L", Liquid, "by volume"),
        ("2 tbsp/gal", Powder, "weighed"),
        ("1 fl oz/gal", Powder, "weighed"),
        ("400 mg/L", Powder, "`400 ppm`"),
        ("400 mg/L", Liquid, "`400 ppm`"),
        ("1:64", Powder, "by volume"),
        ("1:64", Tablet, "by volume"),
        ("1 oz/gal", Tablet, "two ways"),
        ("2 tablets/gal", Liquid, "not sold as tablets"),
        ("0.5 %", Tablet, "counted"),
        ("0.5 % w/v", Liquid, "by volume"),
        ("0.5 % v/v", Powder, "grams in 100 mL"),
        ("0.5 % of water", Liquid, "finished solution"),
        ("2 fl oz", Liquid, "for how much"),
        ("2 fl oz/ft2", Liquid, "an area"),
        ("2 fl oz to make 1 gal of water", Liquid, "both"),
        ("1:64 solution", Liquid, "both"),
        ("2 fl oz/gal", ReadyToUse, "not diluted"),
        ("ready to use", Powder, "only a liquid"),
        ("2 fl oz/gal/h", Liquid, "stroke"),
        ("2 fl oz/gallom", Liquid, "did you mean `gal`"),
        ("2 fl oz/imperial gallon", Liquid, "British"),
        ("1,5 fl oz/gal", Liquid, "`1.5`"),
        ("1-2 fl oz/gal", Liquid, "range"),
        ("1 part in 1 gal", Liquid, "parts go with parts"),
        ("3e6 ppm", Liquid, "too large"),
        ("1:1e9", Liquid, "too large"),
        ("per gal", Liquid, ""),
        ("water", Liquid, ""),
        ("in", Liquid, ""),
        (":", Liquid, ""),
    ] {
        let error = Dilution::parse(text, form, Basis::AddedTo).map(|read| panic!("{text}: {read:?}")).unwrap_err();
        assert!(error.to_string().contains(says), "{text}: {error}");
    }
}
