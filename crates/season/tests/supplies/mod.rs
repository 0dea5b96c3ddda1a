//! Seed and buds: what trees give, what is lost in storage, what is ordered by when, what a license lets one bud.

use jiff::civil::{Date, date};
use nursery::records::{BudsUsed, CutSticks};
use nursery::{FileSet, Nursery};
use season::{Calendar, SeasonModel, Supply, SupplyBatch, ToOrder, build, sticks_to_cut, to_order};

use super::{AS_OF, nursery, nursery_with, planned, weather};

const TREES: &str = "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months,planted,vigour_percent,recovery_weeks\n";
const PRICES: &str = "of,item,variety,rootstock,size,price,limit_per_week,lead_weeks,delivered,limit_per_year,until\n";

fn with(changed: &[(&str, &str)]) -> Nursery {
    nursery_with(changed, AS_OF)
}

fn model_of(nursery: &Nursery) -> SeasonModel {
    build(nursery, &weather()).unwrap_or_else(|problems| panic!("{problems}"))
}

fn supply<'a>(model: &'a SeasonModel, id: &str) -> &'a Supply {
    let mut supplies = model.supplies.iter();
    supplies.find(|it| it.id == id).expect("a supply")
}

fn trees(row: &str) -> Nursery {
    with(&[("mother_trees.csv", &format!("{TREES}{row}\n"))])
}

fn cuts(nursery: &Nursery) -> Vec<SupplyBatch> {
    supply(&model_of(nursery), "buds of valencia")
        .batches
        .clone()
}

fn close(one: f64, other: f64) {
    assert!(
        (one - other).abs() < 1e-6 * other.abs().max(1.0),
        "{one} {other}"
    );
}

/// Thirteen weeks from 1 April to 30 June: cut on the first day, and again 6 and 12 weeks later.
#[test]
fn a_tree_that_recovers_is_cut_again_in_a_season() {
    let once = cuts(&trees("M,valencia,300,04-01/06-30,2026-09-01,clean,60,,,"));
    let thrice = cuts(&trees("M,valencia,300,04-01/06-30,2026-09-01,clean,60,,,6"));
    close(once[0].amount, 300.0);
    let first: Vec<(i64, f64)> = thrice[..3].iter().map(|it| (it.from, it.amount)).collect();
    assert_eq!(first, [(4, 100.0), (10, 100.0), (16, 100.0)]);
    // All are stored from the season's last week on, for four weeks.
    assert!(
        thrice[..3]
            .iter()
            .all(|it| (it.sound_until, it.until) == (17, 21))
    );
}

/// Planted on 1 April 2025: two years old in 2027 and three in 2028, of the four from which it gives all.
#[test]
fn a_young_tree_gives_less_and_a_weak_one_too() {
    let young = cuts(&trees(
        "M,valencia,400,04-01/06-30,2026-09-01,clean,60,2025-04-01,,",
    ));
    let weak = cuts(&trees(
        "M,valencia,400,04-01/06-30,2026-09-01,clean,60,,70,",
    ));
    assert!((young[0].amount - 200.0).abs() < 1.0 && (young[1].amount - 300.0).abs() < 1.0);
    close(weak[0].amount, 280.0);
}

fn cut(name: &str, on: Date, buds: u32, left: u32) -> CutSticks {
    CutSticks {
        cut: name.to_owned(),
        mother_tree: "M".into(),
        variety: "valencia".into(),
        cut_on: on,
        buds,
        left,
    }
}

/// The season runs since 1 February. Of its 300 buds 120 were cut; 40 of these are left, and keep four weeks.
#[test]
fn what_was_cut_already_is_taken_off_and_what_is_left_of_it_is_used() {
    let mut nursery = trees("M,valencia,300,02-01/04-30,2026-09-01,clean,60,,,");
    let guessed = cuts(&nursery);
    // 61 of 89 days are left.
    close(guessed[0].amount, 300.0 * 61.0 / 89.0);
    nursery.budwood.cuts = Some(vec![
        cut("S-1", date(2027, 2, 22), 120, 40),
        cut("S-0", date(2026, 3, 1), 200, 10),
    ]);
    let known = cuts(&nursery);
    let told: Vec<(&str, i64, i64, f64)> = known[..2]
        .iter()
        .map(|it| (it.source.as_str(), it.from, it.until, it.amount))
        .collect();
    assert_eq!(
        told,
        [("S-1", -1, 3, 40.0), ("M, cut from 2027-W09", 0, 12, 180.0)]
    );
    close(known[0].kept(2), 0.97_f64.powi(3));
    // A tree in which something was found gives nothing, and nor does what was cut of it.
    nursery.mother_trees[0].result = nursery::records::TestResult::Found;
    assert_eq!(cuts(&nursery), []);
}

/// 240 buds on 200 stocks: 1.2 a stock, as shipped. 300 say 1.5; too few say nothing.
#[test]
fn own_counts_tell_how_many_buds_a_stock_takes() {
    let each = |buds, stocks| {
        let mut nursery = nursery();
        nursery.budwood.used = BudsUsed { buds, stocks };
        let model = model_of(&nursery);
        let id = |it: &season::SupplyUse| model.supplies[it.supply].id.clone();
        let mut uses = model.operations.iter().flat_map(|it| &it.uses);
        let buds = uses.find(|it| id(it) == "buds of valencia");
        buds.expect("it uses buds").each
    };
    close(each(0, 0), 1.2);
    close(each(300, 200), 1.5);
    close(each(299, 199), 1.2);
}

/// Seed kept for a year at 2 % a month loses 1 − 0.98^12 = 21.5 %.
#[test]
fn seed_declines_while_it_is_kept() {
    let of = |head: &str, cell: &str| {
        let rows = format!(
            "batch,rootstock,seeds,available,use_by{head}\nC,carrizo,1000,2027-03-01,2028-06-30{cell}\n"
        );
        let model = model_of(&with(&[("seed.csv", &rows)]));
        supply(&model, "seed of carrizo").batches[0].clone()
    };
    let usual = of("", "");
    close(usual.kept(0), 1.0);
    let year = 365.25 / 7.0;
    let kept = |it: &SupplyBatch| it.kept(52) / libm::pow(it.kept_per_week, 52.0 - year);
    close(kept(&usual), 0.98_f64.powi(12));
    close(
        kept(&of(",decline_percent_a_month", ",5")),
        0.95_f64.powi(12),
    );
}

/// Seed comes from 15 October to 28 February, three weeks after it is ordered. What is sown in week 2 must have
/// been delivered before today; from week 33 (18 October 2027) on it can be had. In March it comes from the
/// store.
#[test]
fn seed_is_ordered_in_time_for_its_delivery() {
    let rows = format!("{PRICES}seed,,,carrizo,,4,500,3,10-15/02-28,,\n");
    let model = model_of(&with(&[("prices.csv", &rows)]));
    let bought = supply(&model, "seed of carrizo")
        .bought
        .clone()
        .expect("a price");
    let calendar = Calendar::from_as_of(AS_OF);
    let week = |day| calendar.week_of(day) as usize;
    assert_eq!(bought.delivered[2], None);
    close(bought.limit_in(2), 0.0);
    let [october, march] = [week(date(2027, 10, 18)), week(date(2028, 3, 15))];
    assert_eq!(bought.delivered[october], Some(october));
    assert_eq!(bought.delivered[october - 1], None);
    assert_eq!(bought.delivered[march], Some(week(date(2028, 2, 24))));
    close(bought.price_in(october), 0.04);
    close(bought.price_in(march), 0.04 / bought.kept_per_week.powi(3));
}

#[test]
fn a_plan_says_which_sticks_to_cut_when_and_what_to_order_by_when() {
    let prices = format!("{PRICES}seed,,,carrizo,,4,5000,3,,,\nbud,,valencia,,,30,100,,,,\n");
    let orders = "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price\n\
        A,1,C,valencia,carrizo,4L,150,2028-10-01,2028-11-01,2029-03-31,2500\n";
    let nobody = "lot,stage,rootstock,place,growing,ready,entered\n";
    let model = model_of(&with(&[
        ("prices.csv", &prices),
        ("orders.csv", orders),
        ("lots.csv", nobody),
        ("seed.csv", "batch,rootstock,seeds,available,use_by\n"),
    ]));
    let plan = planned(&model);
    assert!(plan.lines[0].short < 100.0, "{:?}", plan.short);
    let orders = to_order(&model, &plan);
    let seed: Vec<&ToOrder> = orders
        .iter()
        .filter(|it| it.of.id() == "seed of carrizo")
        .collect();
    let units: f64 = seed.iter().map(|it| it.units).sum();
    assert!(units > 150.0, "{orders:?}");
    for order in seed {
        assert_eq!(order.delivered, order.by + 3, "{order:?}");
        assert!(order.used_from >= order.delivered, "{order:?}");
        close(order.cost, order.units * 0.04);
    }
    let cut = sticks_to_cut(&model, &plan);
    let used: f64 = plan
        .supply_use
        .iter()
        .flat_map(|it| it.from_batches.iter().flatten())
        .sum();
    let buds: f64 = cut.iter().map(|it| it.buds).sum();
    assert!(buds >= used - 1e-6 && buds > 100.0, "{buds} of {used}");
    for it in &cut {
        let tree: &str = it.tree.as_str();
        assert_eq!((it.variety.as_str(), tree), ("valencia", "M-1"));
        let day = model.calendar.monday(it.week as i64);
        assert!((4..=9).contains(&day.month()) || day.month() == 3, "{day}");
    }
}

/// Forty trees a year may be budded, and none after March 2028: of what grows in vain, nothing is budded.
#[test]
fn a_license_limits_what_is_budded_and_each_tree_owes_its_royalty() {
    let free = nursery();
    let rows = format!("{PRICES}royalty,,valencia,,,150,,,,40,2028-03-31\n");
    let licensed = with(&[("prices.csv", &rows)]);
    let (free, licensed) = (model_of(&free), model_of(&licensed));
    let buds = |model: &SeasonModel| -> Vec<season::Operation> {
        let is_valencia = |it: &&season::Operation| {
            it.step.as_str().starts_with("bud_")
                && model.stages[it.into]
                    .variety
                    .as_ref()
                    .is_some_and(|it| it.as_str() == "valencia")
        };
        model
            .operations
            .iter()
            .filter(is_valencia)
            .cloned()
            .collect()
    };
    for (one, other) in buds(&free).iter().zip(buds(&licensed)) {
        close(other.cost - one.cost, 1.50);
        assert!(
            other
                .starts
                .iter()
                .all(|it| licensed.calendar.thursday(it.week as i64) <= date(2028, 3, 31))
        );
    }
    assert!(!buds(&licensed).is_empty());
    let warned = licensed
        .warnings
        .iter()
        .any(|it| it.contains("license of valencia ends on 2028-03-31"));
    assert!(warned, "{:?}", licensed.warnings);
    // Of this year's 40, the 170 that were budded last summer take none.
    let batches = &supply(&licensed, "licensed buddings of valencia").batches;
    close(batches[0].amount, 40.0);
    let plan = planned(&licensed);
    let budded: f64 = plan
        .starts
        .iter()
        .filter(|it| buds(&licensed).iter().any(|op| op.id == it.operation))
        .map(|it| it.plants)
        .sum();
    assert!(budded <= 80.0 + 1e-6, "{budded}");
}

#[test]
fn cells_that_mean_nothing_are_told() {
    let problems = |table: &str, text: String| {
        let mut set = FileSet::default();
        for (name, text) in super::FILES {
            set.files
                .insert((*name).to_owned(), text.as_bytes().to_vec());
        }
        set.files.insert(table.to_owned(), text.into_bytes());
        let problems = Nursery::from_files(&set, AS_OF).expect_err("it is wrong");
        problems.to_string()
    };
    let tree = |cells: &str| {
        problems(
            "mother_trees.csv",
            format!("{TREES}M,valencia,300,04-01/06-30,2026-09-01,clean,60,{cells}\n"),
        )
    };
    assert!(tree("2031-01-01,,").contains("planted"));
    assert!(tree(",900,").contains("vigour_percent"));
    assert!(tree(",,0").contains("recovery_weeks"));
    let price = |row: &str| problems("prices.csv", format!("{PRICES}{row}\n"));
    assert!(price("seed,,,carrizo,,4,500,3,10-15,,").contains("delivered"));
    assert!(price("seed,,,carrizo,,4,500,,,40,").contains("limit_per_year"));
    assert!(price("royalty,,valencia,,,4,,3,,40,").contains("lead_weeks"));
    assert!(price("royalty,,,,,4,,,,40,").contains("variety"));
}
