//! Every kind of damage is named with file, row, column, value, rule and mend, all at once, and
//! the rows beside it are still read.

use std::collections::BTreeMap;

use intake::RowProblem;
use jiff::civil::date;
use nursery::catalogue::{Catalogue, CatalogueFiles, PlaceKind};
use nursery::files::{self, Known};
use nursery::templates::TEMPLATES;
use nursery::{FileSet, Nursery};

/// A bad row put at the end of a good file: its row, column and value, and parts of what is said.
struct BadRow {
    file: &'static str,
    text: &'static str,
    row: u64,
    column: &'static str,
    value: &'static str,
    rule: &'static str,
    mend: &'static str,
}

const fn bad(
    file: &'static str,
    text: &'static str,
    row: u64,
    (column, value): (&'static str, &'static str),
    rule: &'static str,
    mend: &'static str,
) -> BadRow {
    BadRow {
        file,
        text,
        row,
        column,
        value,
        rule,
        mend,
    }
}

const LOTS: &str = "lots.csv";
const ORDERS: &str = "orders.csv";

/// Each row is right but for one cell. An empty value is a cell that is empty, an empty column a
/// row that is wrong as a whole.
#[rustfmt::skip]
const BAD_ROWS: &[BadRow] = &[
    bad(LOTS, "A1,seedlng,carrizo,,,row-1,1,0,2027-01-01,,,", 4, ("stage", "seedlng"), "must be one of seedling, liner", "write seedling if"),
    bad(LOTS, "A2,liner,carizo,,,row-1,1,0,2027-01-01,,,", 4, ("rootstock", "carizo"), "nobody knows the rootstock carizo", "write carrizo if"),
    bad(LOTS, "A3,budded,carrizo,valentia,,row-1,1,0,2027-01-01,,,", 4, ("variety", "valentia"), "nobody knows the variety valentia", "write valencia if"),
    bad(LOTS, "A4,seedling,carrizo,valencia,,row-1,1,0,2027-01-01,,,", 4, ("variety", "valencia"), "seedlings, liners and missed stocks have no variety", "empty the cell"),
    bad(LOTS, "A5,budded,carrizo,,,row-1,1,0,2027-01-01,,,", 4, ("variety", ""), "budded and finished lots have a variety", "fill it in"),
    bad(LOTS, "A6,finished,carrizo,valencia,,yard-1,1,0,2027-01-01,,,", 4, ("size", ""), "finished lots have a size", "fill it in"),
    bad(LOTS, "A7,finished,carrizo,valencia,5L,yard-1,1,0,2027-01-01,,,", 4, ("size", "5L"), "must be a size that some step makes: 10L, 4L", "add a step"),
    bad(LOTS, "A8,liner,carrizo,,,row-1,-5,0,2027-01-01,,,", 4, ("growing", "-5"), "must be a whole number, 0 or more", "write digits only"),
    bad(LOTS, "A9,liner,carrizo,,,row-1,5,1.5,2027-01-01,,,", 4, ("ready", "1.5"), "must be a whole number, 0 or more", "write digits only"),
    bad(LOTS, "B1,liner,carrizo,,,row-1,about 90,0,2027-01-01,,,", 4, ("growing", "about 90"), "must be a whole number", "write digits only"),
    bad(LOTS, "B2,liner,carrizo,,,row-1,999999999999,0,2027-01-01,,,", 4, ("growing", "999999999999"), "must be 100000000 at the most", "check the number"),
    bad(LOTS, "B3,liner,carrizo,,,row-1,1,0,1/2/2027,,,", 4, ("entered", "1/2/2027"), "must be a date of the calendar", "write year-month-day"),
    bad(LOTS, "B4,liner,carrizo,,,row-1,1,0,2026-02-30,,,", 4, ("entered", "2026-02-30"), "must be a date of the calendar", "that month has 28 days"),
    bad(LOTS, "B5,liner,carrizo,,,row-1,1,0,0027-02-03,,,", 4, ("entered", "0027-02-03"), "must lie in the years 1900 to 2199", "write the year in full"),
    bad(LOTS, "B6,liner,carrizo,,,row-1,1,0,2027-03-02,,,", 4, ("entered", "2027-03-02"), "must not lie after the day you look ahead from, 2027-03-01", "give a later --as-of"),
    bad(LOTS, "B7,budded,carrizo,valencia,,row-1,1,0,2026-07-01,2026-07-02,,", 4, ("budded_on", "2026-07-02"), "must not lie after entered, 2026-07-01", "mend one of the two dates"),
    bad(LOTS, "S-27-01,liner,carrizo,,,row-1,1,0,2027-01-01,,,", 4, ("lot", "S-27-01"), "this lot stands in row 2 already", "remove one of the two rows"),
    bad(LOTS, "B8,liner,carrizo,,,row-11,1,0,2027-01-01,,,", 4, ("place", "row-11"), "nobody knows this place", "write row-1 if"),
    bad(LOTS, "B9,liner,carrizo,,,row-1,1,0,2027-01-01,,lineout,", 4, ("step", "lineout"), "nobody knows this step", "write line_out if"),
    bad(LOTS, "C1,liner,carrizo,,,row-1,1,0,2027-01-01,,sow,", 4, ("step", "sow"), "this step makes seedling plants", "mend the step or the stage"),
    bad(LOTS, "C2,liner,carrizo,,,row-1,1,0,2027-01-01", 4, ("", ""), "must have 12 cells and has 9", "missing or extra comma"),
    bad(LOTS, "C3,liner,carrizo,,,row-1,1,0,2027-01-01,,,\"one\ntwo\"", 4, ("", "one two"), "must be plain text on one line", "close every quote"),
    bad(LOTS, ",liner,carrizo,,,row-1,1,0,2027-01-01,,,", 4, ("lot", ""), "must not be empty", "fill in lot"),
    bad(ORDERS, "O1,1,C,valencia,carrizo,4L,4,2028-04-04,2028-04-03,2028-05-29,1250,,,,,,,,,", 3, ("earliest", "2028-04-04"), "must not lie after due, 2028-04-03", "mend one of the two dates"),
    bad(ORDERS, "O2,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-04-02,1250,,,,,,,,,", 3, ("latest", "2028-04-02"), "must not lie before due, 2028-04-03", "mend one of the two dates"),
    bad(ORDERS, "O3,1,C,valencia,carrizo,4L,0,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,,", 3, ("plants", "0"), "must be at least 1", "give a number"),
    bad(ORDERS, "O4,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,12.50,,,,,,,,,", 3, ("price", "12.50"), "must be money in whole cents", "as 1250 for 12.50"),
    bad(ORDERS, "O5,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,101,,,,,,,", 3, ("tolerance_percent", "101"), "must lie between 0 and 100", "check the value"),
    bad(ORDERS, "O6,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,yes,,,,,,,,", 3, ("contract", "yes"), "must be one of true, false", "write one of them"),
    bad(ORDERS, "O7,1,C,valencia,;,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,,", 3, ("rootstocks", ";"), "must name at least one", "semicolons between"),
    bad(ORDERS, "O8,1,C,valencia,carrizo;carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,,", 3, ("rootstocks", "carrizo;carrizo"), "must name carrizo only once", "take one of the two out"),
    bad(ORDERS, "O-101,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,,", 3, ("line", "1"), "this line of this order stands in row 2 already", "or mend it"),
    bad(ORDERS, "O9,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,12.5,,,,,,", 3, ("deposit", "12.5"), "must be money in whole cents", "as 1250 for 12.50"),
    bad(ORDERS, "P1,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,101,,,,,", 3, ("cancel_percent", "101"), "must lie between 0 and 100", "check the value"),
    bad(ORDERS, "P2,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,a few,,,,", 3, ("minimum_load", "a few"), "must be a whole number, 0 or more", "write digits only"),
    bad(ORDERS, "P3,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,valencia/swingle/4L,", 3, ("substitutes", "valencia/swingle/4L"), "valencia/swingle/4L must be variety, rootstock, size and price", "as in valencia/swingle/4L/1200"),
    bad(ORDERS, "P4,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,valencia/none/4L/1200,", 3, ("substitutes", "valencia/none/4L/1200"), "nobody knows its rootstock", "mend the rootstock"),
    bad(ORDERS, "P5,1,C,valencia,carrizo,4L,4,2028-03-01,2028-04-03,2028-05-29,1250,,,,,,,,valencia/swingle/4L/12.50,", 3, ("substitutes", "valencia/swingle/4L/12.50"), "the price of valencia/swingle/4L/12.50 must be whole cents", "as 1200 for 12.00"),
    bad("places.csv", "p1,rows,NaN,,,,", 6, ("area_m2", "NaN"), "must be a number", "with a decimal point"),
    bad("places.csv", "p2,rows,\"12,5\",,,,", 6, ("area_m2", "12,5"), "must be a number", "with a decimal point"),
    bad("places.csv", "p3,house,50,,20,20,", 6, ("vent_c", "20"), "must lie above set_point_c", "mend one of the two"),
    bad("crews.csv", "grafting,,,10,1600,0,,budders", 5, ("may_do", "budders"), "nobody knows the crew budders", "write budding if"),
    bad("crews.csv", "loading,,,10,1600,5,1500,", 5, ("hired_cost", "1500"), "a hired hour must not cost less than the wage", "full cost"),
    bad("crews.csv", "loading,03-01,,10,1600,0,,", 5, ("until", ""), "from and until go together", "fill in both"),
    bad("crews.csv", "loading,3-1,10-31,10,1600,0,,", 5, ("from", "3-1"), "must be a day of the year", "write month-day"),
    bad("crews.csv", "growing,,,10,1600,0,,", 5, ("crew", "growing"), "this crew at this time of the year stands in row 4 already", "remove one of the two rows"),
    bad("mother_trees.csv", "M1,valencia,900,March,2026-09-20,clean,12,,,,", 3, ("cut_seasons", "March"), "must be spans of days of the year", "as 03-15/05-15"),
    bad("mother_trees.csv", "M2,valencia,900,03-15/06-15,,clean,12,,,,", 3, ("tested_on", ""), "a result needs the day of its test", "fill in the date"),
    bad("mother_trees.csv", "M3,valencia,900,03-15/06-15,2027-09-20,clean,12,,,,", 3, ("tested_on", "2027-09-20"), "must not lie after the day you look ahead from", "mend the date"),
    bad("mother_trees.csv", "M4,valencia,900,03-15/06-15,2026-09-20,clean,300,,,,", 3, ("valid_months", "300"), "must be 240 months at the most", "check the number"),
    bad("seed.csv", "D1,carrizo,90,2027-06-30,2026-12-01,86,,", 3, ("use_by", "2026-12-01"), "must not lie before available, 2027-06-30", "mend one of the two dates"),
    bad("seed.csv", "D2,carrizo,90,2026-12-01,2027-06-30,106,,", 3, ("germination_percent", "106"), "must lie between 0 and 100", "check the value"),
    bad("prices.csv", "tree,,valencia,,,1250,,,,,", 7, ("size", ""), "must not be empty", "fill in size"),
    bad("prices.csv", "seed,,,carrizo,,5,100,,,,", 7, ("of", "seed"), "this price stands in row 3 already", "remove one of the two rows"),
    bad("grades.csv", "first,4L,85,", 3, ("grade", "first"), "this grade of this size stands in row 2 already", "remove one of the two rows"),
    bad("grades.csv", "second,4L,120,", 3, ("share_percent", "120"), "must lie between 0 and 100", "check the value"),
    bad("demand.csv", "valencia/carrizo,2028-W20,60,25", 3, ("product", "valencia/carrizo"), "variety, rootstock and size with slashes between", "write it as in valencia/carrizo/4L"),
    bad("demand.csv", "valencia/none/9L,2028-W20,60,25", 3, ("product", "valencia/none/9L"), "nobody knows its rootstock and size", "mend the rootstock and size"),
    bad("demand.csv", "valencia/carrizo/4L,2027-W54,60,25", 3, ("week", "2027-W54"), "must be an ISO week", "52 or 53 weeks"),
    bad("demand.csv", "valencia/carrizo/4L,2028-W20,many,25", 3, ("mean", "many"), "must be a number", "decimal point"),
    bad("watering.csv", "row-1,,,,,,,,,,,,", 4, ("place", "row-1"), "the watering of this place stands in row 2 already", "remove one of the two rows"),
    bad("watering.csv", "row-9,,,,,,,,,,,,", 4, ("place", "row-9"), "nobody knows the place row-9", "write row-1 if"),
    bad("watering.csv", "house-1,peat,,,,,,,,,,,", 4, ("soil", "peat"), "must be one of sand, loamy sand", "write one of them"),
    bad("watering.csv", "seedbed-1,,,,,,,,,12,2,,", 4, ("emitter_l_h", "2"), "over its area or plant by plant", "empty this or rate_mm_h"),
    bad("watered.csv", "row-1,2027-03-02,", 3, ("date", "2027-03-02"), "must not lie after the day you look ahead from", "mend the date"),
    bad("nights.csv", "2027-02-09,4.0,5.0,,", 3, ("dew_point_c", "5.0"), "must not be above evening_c, 4", "mend one of the two"),
    bad("nights.csv", "2027-02-10,4.0,,5.0,", 3, ("low_c", "5.0"), "must not be above evening_c, 4", "mend one of the two"),
    bad("nights.csv", "2027-02-11,41,,,", 3, ("evening_c", "41"), "must lie between -30 and 40", "check the value"),
    bad("nights.csv", "2027-02-08,4.0,,,", 3, ("date", "2027-02-08"), "this night stands in row 2 already", "remove one of the two rows"),
    bad("bark_notes.csv", "2026-11-06,carrizo,row-1,slips", 3, ("date", "2026-11-06"), "this rootstock at this place on this day stands in row 2 already", "remove one of the two rows"),
    bad("bark_notes.csv", "2026-11-07,carrizo,row-1,loose", 3, ("bark", "loose"), "must be one of slips, tight", "write one of them"),
    bad("combinations.csv", "lemmon,carrizo,doubtful,,why,own trial,own", 3, ("scion", "lemmon"), "must be a variety, a family or a group", "mend the name"),
    bad("traits.csv", "carriso,cold,good,own trial,own", 3, ("rootstock", "carriso"), "nobody knows this rootstock", "write carrizo if"),
    bad("varieties.csv", "our-late,Our late,,sweet orange,navel orange,9,1,own,own", 3, ("growth", "9"), "must lie between 0.2 and 3", "check the value"),
    bad("rootstocks.csv", "our-sour,Our sour,,1,84,6,,15,38,,,own", 3, ("source", ""), "must not be empty", "fill in source"),
];

/// A file damaged as a whole: what is replaced by what, and what is said of it, as printed.
const BAD_FILES: &[(&str, &str, &str, &str)] = &[
    (
        LOTS,
        "lot,stage",
        "lot,stages",
        "lots.csv, row 1, stage: this column must be there; rename column \"stages\" to stage if that is what is meant.",
    ),
    (
        LOTS,
        "lot,stage",
        "lot,lot",
        "lots.csv, row 1, stage: this column must be there; add a column stage.\nlots.csv, row 1, lot: this column must stand only once; remove one of the two.",
    ),
    (
        LOTS,
        ",source\n",
        ",height\n",
        "lots.csv, row 1, height: nobody knows this column; remove it, the columns are lot, stage, rootstock, place, growing, ready, entered, variety, size, budded_on, step, source.",
    ),
    (
        LOTS,
        ",",
        ";",
        "lots.csv, row 1 \"lot;stage;rootstock;variety;size;place;growing;ready;entered…\": columns must be separated by commas; save the table with commas between the columns.",
    ),
    (
        "nursery.toml",
        "latitude = 37.4",
        "latitude = 95.0",
        "nursery.toml, latitude \"95\": must lie between -66 and 66; check the value and its unit.",
    ),
    (
        "nursery.toml",
        "latitude = 37.4",
        "latitude = nan",
        "nursery.toml, latitude \"NaN\": must lie between -66 and 66; check the value and its unit.",
    ),
    (
        "nursery.toml",
        "latitude = 37.4",
        "latitude = \"37.4\"",
        "nursery.toml, row 2, latitude \"\"37.4\"\": must be a number; write it without quotes, as 12.8.",
    ),
    (
        "nursery.toml",
        "latitude =",
        "latitud =",
        "nursery.toml, row 2, latitud: nobody knows this key; rename it to latitude if that is what is meant.",
    ),
    (
        "nursery.toml",
        "\"EUR\"",
        "\"euro\"",
        "nursery.toml, currency \"euro\": must be three capital letters; write them as in EUR.",
    ),
    (
        "nursery.toml",
        "Europe/Madrid",
        "two hours east",
        "nursery.toml, time_zone \"two hours east\": must be the name of a time zone of the IANA database; write continent and city, as Europe/Madrid.",
    ),
    (
        "nursery.toml",
        "Europe/Madrid",
        "Europe/Sevilla",
        "nursery.toml, time_zone \"Europe/Sevilla\": must be the name of a time zone of the IANA database; write continent and city, as Europe/Madrid.",
    ),
    (
        "nursery.toml",
        "units = \"metric\"",
        "units = \"metrical\"",
        "nursery.toml, row 7, units \"\"metrical\"\": must be one of metric, us; write \"metric\" if that is what is meant.",
    ),
    (
        "nursery.toml",
        "routes = []",
        "routes = [\"fields\"]",
        "nursery.toml, planning.routes \"fields\": must be routes of routes.toml: field, dormant, chip, pot, bought_liners, our_pot; mend the name.",
    ),
    (
        "routes.toml",
        "place = \"yard\"\narea_m2 = 0.045",
        "place = \"yard\"\narea_m2 = 45",
        "routes.toml, our_pot_4L.area_m2 \"45\": must lie between 0 and 10; check the value and its unit.",
    ),
    (
        "routes.toml",
        "from = [\"force_pot\"]",
        "from = [\"force_pots\"]",
        "routes.toml, our_pot_4L.from \"force_pots\": nobody knows this step or stand; write force_pot if that is what is meant, or add it.",
    ),
    (
        "routes.toml",
        "from = [\"force_pot\"]",
        "from = [\"our_pot_4L\"]",
        "routes.toml, our_pot_4L.from \"our_pot_4L\": plants cannot go round in a circle; take it out of from.",
    ),
    (
        "routes.toml",
        "makes =",
        "make =",
        "routes.toml, row 7, our_pot_4L.make: nobody knows this key; rename it to makes if that is what is meant.",
    ),
    (
        "routes.toml",
        "[[route]]",
        "[[routes]]",
        "routes.toml, row 21, routes: nobody knows this key; rename it to route if that is what is meant.",
    ),
];

fn folder() -> BTreeMap<String, Vec<u8>> {
    TEMPLATES
        .iter()
        .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()))
        .collect()
}

fn problems(files: BTreeMap<String, Vec<u8>>) -> Vec<RowProblem> {
    let read = Nursery::from_files(&FileSet { files }, date(2027, 3, 1));
    read.err().map_or(Vec::new(), |problems| problems.0)
}

fn printed(files: BTreeMap<String, Vec<u8>>) -> String {
    let lines: Vec<String> = problems(files).iter().map(ToString::to_string).collect();
    lines.join("\n")
}

fn add_row(files: &mut BTreeMap<String, Vec<u8>>, damage: &BadRow) {
    let file = files.get_mut(damage.file).expect("a template");
    file.extend_from_slice(damage.text.as_bytes());
    file.push(b'\n');
}

fn is_named(problem: &RowProblem, damage: &BadRow, row: u64) -> bool {
    problem.file == damage.file
        && problem.row == Some(row)
        && problem.column.as_deref().unwrap_or_default() == damage.column
        && problem.value.as_deref().unwrap_or_default() == damage.value
        && problem.rule.contains(damage.rule)
        && problem.mend.contains(damage.mend)
}

#[test]
fn the_good_folder_has_no_problem() {
    assert_eq!(printed(folder()), "");
}

#[test]
fn each_bad_row_is_named_and_nothing_else() {
    for damage in BAD_ROWS {
        let mut files = folder();
        add_row(&mut files, damage);
        let found = problems(files);
        let right = found.len() == 1 && is_named(&found[0], damage, damage.row);
        assert!(right, "{}\n{found:#?}", damage.text);
    }
}

#[test]
fn all_bad_rows_are_named_at_once() {
    let mut files = folder();
    let mut rows = Vec::new();
    for damage in BAD_ROWS {
        let before = files[damage.file]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count();
        rows.push(before as u64 + 1);
        add_row(&mut files, damage);
    }
    let found = problems(files);
    for (damage, row) in BAD_ROWS.iter().zip(rows) {
        let named = found.iter().any(|problem| is_named(problem, damage, row));
        assert!(named, "{} in row {row}\n{found:#?}", damage.text);
    }
    let printed: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(found.len(), BAD_ROWS.len(), "{}", printed.join("\n"));
}

#[test]
fn right_rows_beside_bad_ones_are_read() {
    let mut files = folder();
    for damage in BAD_ROWS {
        add_row(&mut files, damage);
    }
    let (catalogue, _) = Catalogue::with_own(&CatalogueFiles::default());
    let places = files::places(&files["places.csv"]).accepted;
    let kinds: BTreeMap<_, PlaceKind> = places
        .iter()
        .map(|place| (place.place.clone(), place.kind))
        .collect();
    let known = Known {
        catalogue: &catalogue,
        places: &kinds,
        as_of: date(2027, 3, 1),
        terms: nursery::settings::OrderTerms::default(),
    };
    assert_eq!(places.len(), 4);
    assert_eq!(files::crews(&files["crews.csv"]).accepted.len(), 3);
    assert_eq!(files::lots(&files["lots.csv"], &known).accepted.len(), 2);
    assert_eq!(
        files::orders(&files["orders.csv"], &known).accepted.len(),
        1
    );
    assert_eq!(files::seed(&files["seed.csv"], &known).accepted.len(), 1);
    assert_eq!(
        files::prices(&files["prices.csv"], &known).accepted.len(),
        5
    );
    assert_eq!(
        files::demand(&files["demand.csv"], &known).accepted.len(),
        1
    );
    let trees = files::mother_trees(&files["mother_trees.csv"], &known);
    assert_eq!(trees.accepted.len(), 1);
}

#[test]
fn each_file_damaged_as_a_whole_is_named() {
    let mut wrong = Vec::new();
    for (file, from, to, said) in BAD_FILES {
        let mut files = folder();
        let text = String::from_utf8(files[*file].clone()).expect("templates are text");
        assert!(text.contains(from), "{from} stands in {file}");
        files.insert((*file).to_owned(), text.replace(from, to).into_bytes());
        let printed = printed(files);
        if printed != *said {
            wrong.push(format!("{to}\n{printed}\ninstead of\n{said}\n"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn bytes_that_are_not_text_are_named_by_their_line() {
    for (file, row) in [(LOTS, 4), ("nursery.toml", 75), ("routes.toml", 27)] {
        let mut files = folder();
        files
            .get_mut(file)
            .expect("a template")
            .extend(b"# Pe\xf1a\n");
        let found = problems(files);
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!((found[0].file.as_str(), found[0].row), (file, Some(row)));
        assert_eq!(found[0].value.as_deref(), Some("# Pe\u{fffd}a"));
        assert_eq!(found[0].rule, "must be UTF-8 text");
    }
}

#[test]
fn every_line_that_is_not_toml_is_named() {
    let mut files = folder();
    let text = b"name = \"ours\nlatitude = 1\nlongitude == 2\n".to_vec();
    files.insert("nursery.toml".to_owned(), text);
    let found = problems(files);
    let rows: Vec<Option<u64>> = found.iter().map(|problem| problem.row).collect();
    assert_eq!(rows, [Some(1), Some(3)], "{found:#?}");
    assert_eq!(found[0].value.as_deref(), Some("name = \"ours"));
    assert!(found[0].rule.starts_with("this line cannot be read: "));
}

#[test]
fn all_missing_keys_and_wrong_values_of_the_settings_come_at_once() {
    let told = |text: &str| -> Vec<String> {
        let mut files = folder();
        files.insert("nursery.toml".to_owned(), text.as_bytes().to_vec());
        problems(files)
            .into_iter()
            .filter(|problem| problem.file == "nursery.toml")
            .filter_map(|problem| problem.column)
            .collect()
    };
    let needed = [
        "name",
        "latitude",
        "longitude",
        "elevation_m",
        "time_zone",
        "currency",
    ];
    assert_eq!(told(""), needed);
    assert_eq!(
        told("name = \"x\"\ncurrency = \"EURO\"\n"),
        [
            "latitude",
            "longitude",
            "elevation_m",
            "time_zone",
            "currency"
        ]
    );
    // Misspelled, of the wrong kind, out of range and missing, each once.
    assert_eq!(
        told(
            "nam = \"x\"\nlatitude = \"37\"\nlongitude = 181\n[heat]\nbase_c = 99\n\
             [planning]\nweeks = 1\n"
        ),
        [
            "latitude",
            "nam",
            "elevation_m",
            "time_zone",
            "currency",
            "longitude",
            "heat.base_c",
            "planning.weeks"
        ]
    );
}

#[test]
fn missing_files_and_crews_are_named_with_the_file_to_start() {
    let mut files = folder();
    files.remove("nursery.toml");
    files.remove("weather.csv");
    assert_eq!(
        printed(files),
        "nursery.toml: this file must be there; start one with `barkslip template nursery.toml`.\n\
         weather.csv: this file must be there; start one with `barkslip template weather.csv`."
    );
    let mut files = folder();
    let crews = b"crew,hours_per_week,wage\ngrowing,100,1600\n".to_vec();
    files.insert("crews.csv".to_owned(), crews);
    assert_eq!(
        printed(files),
        "crews.csv, crew \"budding\": steps in use ask for this crew; give the crew a row, or name another in routes.toml."
    );
}

#[test]
fn lots_at_a_place_whose_row_is_bad_are_right() {
    let mut files = folder();
    let places =
        b"place,kind,area_m2\nseedbed-1,seedbed,none\nrow-1,rows,2400\nyard-1,yard,500\n".to_vec();
    files.insert("places.csv".to_owned(), places);
    assert_eq!(
        printed(files),
        "places.csv, row 2, area_m2 \"none\": must be a number; write it with a decimal point, as 12.8."
    );
}
