use jiff::civil::date;

use super::*;
use crate::FileSet;

const WRITTEN: [&str; 13] = [
    "crew men from town 50%",
    "order 5 valencia on carrizo, 15 gal by 2029-W12",
    "crew budding 50%",
    "crew field crew 0% from 2027-W25 to 2027-W34",
    "place tunnel-1 80%",
    "mother trees 50%",
    "mother trees of valencia 50%",
    "spring 1 week late",
    "spring 3 weeks late",
    "order 2000 valencia on carrizo, 4L by 2029-W12",
    "price of valencia 110%",
    "target of A/1 95%",
    "target 80%",
];

fn nursery() -> Nursery {
    let nursery_toml = b"name = \"x\"\nlatitude = 37.0\nlongitude = -6.0\nelevation_m = 10\n\
        time_zone = \"Europe/Madrid\"\ncurrency = \"EUR\"\n[planning]\nroutes = []\n";
    let files: [(&str, &[u8]); 6] = [
        ("nursery.toml", nursery_toml),
        (
            "places.csv",
            b"place,kind,area_m2\ntunnel-1,house,1000\nfield,rows,9000\nyard-1,yard,500\n",
        ),
        (
            "crews.csv",
            b"crew,hours_per_week,wage\nbudding,80,1200\ngrowing,120,1000\n",
        ),
        ("weather.csv", b""),
        (
            "mother_trees.csv",
            b"mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months\n\
              M-1,valencia,901,03-01/10-31,2027-01-10,clean,12\n",
        ),
        (
            "prices.csv",
            b"of,variety,rootstock,size,price\ntree,valencia,,4L,500\ntree,valencia,carrizo,4L,900\ntree,navelina,carrizo,4L,800\n",
        ),
    ];
    let files = files.map(|(name, bytes)| (name.to_owned(), bytes.to_vec()));
    let set = FileSet {
        files: files.into_iter().collect(),
    };
    Nursery::from_files(&set, date(2027, 3, 1)).unwrap_or_else(|problems| panic!("{problems:?}"))
}

fn change(text: &str) -> Change {
    text.parse()
        .unwrap_or_else(|problem| panic!("{text}: {problem:?}"))
}

#[test]
fn changes_read_as_they_are_written() {
    for text in WRITTEN {
        assert_eq!(change(text).to_string(), text);
    }
    assert_eq!(change("  price   90%  ").to_string(), "price 90%");
}

#[test]
fn forms_are_read() {
    for form in FORMS {
        let example = form.split(", as: ").nth(1).unwrap_or_default();
        assert_eq!(change(example).to_string(), example, "{form}");
    }
}

#[test]
fn what_is_no_change_is_told() {
    for (text, word) in [
        ("", "no change"),
        ("rain 50%", "no change"),
        ("mother 50%", "no change"),
        ("crew 50%", "no name"),
        ("crew budding", "no name"),
        ("crew budding half", "no percent"),
        ("crew budding 1001%", "no percent"),
        ("crew budding -5%", "no percent"),
        ("crew budding 50% from 2027-W25", "until when"),
        ("crew budding 50% from 2027-W30 to 2027-W25", "after"),
        ("crew budding 50% from June to July", "no week"),
        ("spring 3", "how late"),
        ("spring 9 weeks late", "how late"),
        ("spring 0 weeks late", "how late"),
        ("order 2000 valencia", "all that an order needs"),
        (
            "order many valencia on carrizo, 4L by 2029-W12",
            "number of plants",
        ),
        (
            "order 0 valencia on carrizo, 4L by 2029-W12",
            "number of plants",
        ),
        ("order 5 valencia on carrizo, 4L by 2029-W99", "no week"),
    ] {
        let problem = text.parse::<Change>().expect_err(text);
        assert!(problem.what.contains(word), "{text}: {problem:?}");
        assert!(!problem.mend.is_empty());
    }
}

#[test]
fn changes_change_what_they_name_and_nothing_else() {
    let plain = nursery();
    assert_eq!(plain.under(&[]).as_ref(), Ok(&plain));
    let under = |text: &str| plain.under(&[change(text)]).expect(text);

    let away = under("crew budding 50% from 2027-W25 to 2027-W26");
    assert_eq!(away.crews, plain.crews);
    assert!(away.away[0].holds(date(2027, 6, 21)) && away.away[0].holds(date(2027, 7, 4)));
    assert!(!away.away[0].holds(date(2027, 6, 20)) && !away.away[0].holds(date(2027, 7, 5)));

    let smaller = under("place tunnel-1 80%");
    assert!((smaller.places[0].area_m2 - 800.0).abs() < 1e-9);
    assert_eq!(smaller.places[1], plain.places[1]);

    assert_eq!(under("mother trees 50%").mother_trees[0].buds_per_year, 450);
    let others = under("mother trees of navelina 50%");
    assert_eq!(others.mother_trees, plain.mother_trees);

    assert_eq!(
        under("spring 3 weeks late")
            .settings
            .planning
            .spring_later_weeks,
        3
    );

    let dearer = under("price of valencia 110%");
    assert!((dearer.prices[1].price - 990.0).abs() < 1e-9);
    assert_eq!(dearer.prices[2], plain.prices[2]);

    let further = change("order 2000 valencia on carrizo, 4L by 2029-W12");
    let more = plain.under(&[further.clone(), further]).expect("twice");
    let lines: Vec<(&str, &str, u32, i64)> = more
        .orders
        .iter()
        .map(|it| (it.order.as_str(), it.line.as_str(), it.plants, it.price))
        .collect();
    assert_eq!(
        lines,
        [(WHAT_IF, "1", 2000, 900), (WHAT_IF, "2", 2000, 900)]
    );
    assert_eq!(more.orders[0].due, date(2029, 3, 23));
    let aimed = more.under(&[change("target 80%"), change("target of what if/2 95%")]);
    let aimed = aimed.expect("there are such lines").orders;
    let targets: Vec<Option<f64>> = aimed.iter().map(|it| it.target).collect();
    assert_eq!(targets, [Some(0.8), Some(0.95)]);
    assert!("target 100%".parse::<Change>().is_err());
}

#[test]
fn what_the_nursery_does_not_have_is_told() {
    for (text, words) in [
        ("crew pruning 50%", "no crew pruning"),
        (
            "crew budding 50% from 2026-W01 to 2026-W09",
            "none of these weeks",
        ),
        (
            "crew budding 50% from 2031-W01 to 2031-W09",
            "none of these weeks",
        ),
        ("place moon 50%", "no place moon"),
        ("mother trees of mango 50%", "variety mango"),
        ("price of mango 50%", "variety mango"),
        ("target of A-9/1 50%", "no open order line A-9/1"),
        ("order 5 valencia on carrizo, 4L by 2027-W08", "has passed"),
        (
            "order 5 valencia on carrizo, 4L by 2030-W12",
            "the plan ends before",
        ),
        ("order 5 mango on carrizo, 4L by 2029-W12", "variety mango"),
        (
            "order 5 valencia on oak, 4L by 2029-W12",
            "no rootstock oak",
        ),
        (
            "order 5 valencia on carrizo, 99L by 2029-W12",
            "no size 99L",
        ),
        (
            "order 5 navelina on macrophylla, 4L by 2029-W12",
            "no list price",
        ),
    ] {
        let problem = nursery().under(&[change(text)]).expect_err(text);
        assert!(problem.what.contains(words), "{text}: {problem:?}");
        assert!(!problem.mend.is_empty());
    }
}
