//! The planting sheet in English.

use super::super::answer::{FeedSeasonAnswer, FitAnswer, Form, StandingAnswer};
use super::{ClimateWords, DeliveryWords, DrawingWords, HoleWords, OrchardWords, SheetWords};

pub(super) struct English;

impl SheetWords for English {
    fn title(&self, form: Form) -> &'static str {
        match form {
            Form::Garden => "Planting sheet: garden",
            Form::Orchard => "Planting sheet: orchard",
        }
    }

    fn page(&self) -> fn(usize, usize) -> String {
        |page, of| format!("page {page} of {of}")
    }

    fn answer(&self, trees: &str, place: &str, when: &str, apart: &str, water: &str) -> String {
        format!("{place}: plant {trees} {when}, {apart} apart. Water {water} at first.")
    }

    fn answer_no_week(&self, trees: &str, place: &str) -> String {
        format!(
            "{place}: no week of a usual year suits planting {trees} in the ground. Ask the nursery before you plant."
        )
    }

    fn answer_not_outdoors(&self, trees: &str, place: &str, reason: StandingAnswer) -> String {
        let why = match reason {
            StandingAnswer::TooCool => "Summers are too cool for them to grow.",
            _ => "Winters kill them.",
        };
        format!(
            "{place}: {trees} cannot live outdoors all year. {why} Keep them in pots and bring them in for winter, or plant in a house."
        )
    }

    fn not_these(&self, kinds: &str) -> String {
        format!(
            "They cannot stay outdoors there: {kinds}. Keep these in pots and bring them in for winter."
        )
    }

    fn trees(&self, count: &str, one: bool) -> String {
        if one {
            "your citrus tree".to_owned()
        } else {
            format!("your {count} citrus trees")
        }
    }

    fn span(&self, from: &str, to: &str) -> String {
        format!("from {from} to {to}")
    }

    fn any_week(&self) -> &'static str {
        "in any week of the year"
    }

    fn or(&self, parts: &[String]) -> String {
        parts.join(" or ")
    }

    fn what_you_got(&self) -> &'static str {
        "Your trees"
    }

    fn tree_heads(&self, form: Form) -> [&'static str; 6] {
        match form {
            Form::Garden => [
                "Tree",
                "Trees",
                "Apart",
                "From a wall",
                "Grows to",
                "Outdoors",
            ],
            Form::Orchard => [
                "Tree",
                "Trees",
                "In the row",
                "Between rows",
                "Grows to",
                "Outdoors",
            ],
        }
    }

    fn kind(&self, variety: &str, rootstock: &str, size: &str) -> String {
        if size.is_empty() {
            format!("{variety} on {rootstock}")
        } else {
            format!("{variety} on {rootstock}, {size}")
        }
    }

    fn standing(&self, standing: StandingAnswer) -> &'static str {
        match standing {
            StandingAnswer::Open => "yes",
            StandingAnswer::Covered => "yes, wrapped and covered on cold nights",
            StandingAnswer::TooCold => "no, too cold in winter",
            StandingAnswer::TooCool => "no, too cool to grow",
        }
    }

    fn winters(&self, limit: &str, lost: usize, of: usize, usual_low: &str) -> String {
        format!(
            "Hardened wood is lost below about {limit} (from memory). The coldest night of a usual winter has {usual_low}; {lost} of {of} winters go below that limit."
        )
    }

    fn doubtful_edge(&self, young: usize, of: usize) -> String {
        format!(
            "In the first two winters the wood is more tender: {young} of {of} winters would kill a young tree that is not covered."
        )
    }

    fn not_outdoors(&self, frost_free: &str) -> Vec<String> {
        let outdoors = if frost_free.is_empty() {
            "Keep it under cover all year: frost is likely in any week.".to_owned()
        } else {
            format!("Outdoors only {frost_free}, when no frost is likely.")
        };
        vec![
            format!("In a pot: 20 to 40 liters, free-draining mix, one size larger every second year (common practice). {outdoors}"),
            "In winter: light, cool and free of frost, 5 to 12 °C (from memory). Water little. Away from heaters.".to_owned(),
            "In a house: an unheated house gains only some degrees. Have heat for the coldest nights.".to_owned(),
        ]
    }

    fn does_not_ripen(&self) -> &'static str {
        "Summers are cool: sweet oranges and grapefruit may stay sharp. Lemons and early mandarins do better. A warm wall helps (from memory)."
    }

    fn size_not_known(&self, rootstock: &str) -> String {
        format!(
            "How large trees on {rootstock} grow is not known. They are spaced as trees of middling size."
        )
    }

    fn when(&self) -> &'static str {
        "When to plant"
    }

    fn when_why(&self, windows: &str, start: &str) -> String {
        format!(
            "Plant {windows}. Soil is warm then (15 °C or more, from memory) and no frost is likely for twelve weeks. This sheet counts from {start}."
        )
    }

    fn start_not_good(&self, start: &str, why: FitAnswer) -> String {
        let why = match why {
            FitAnswer::Good => return String::new(),
            FitAnswer::Frost => "frost is likely before the tree has taken hold",
            FitAnswer::ColdSoil => "soil is too cold for roots",
            FitAnswer::HotDry => "it is hot and dry",
        };
        format!("This sheet counts from {start}. That is not a good week: {why}.")
    }

    fn no_week(&self) -> &'static str {
        "No week of a usual year suits planting in the ground here."
    }

    fn not_then(&self, span: &str, why: FitAnswer) -> String {
        let why = match why {
            FitAnswer::Good => "",
            FitAnswer::Frost => "frost is likely before the tree has taken hold",
            FitAnswer::ColdSoil => "soil is or soon will be too cold",
            FitAnswer::HotDry => "too hot and dry",
        };
        format!("Not {span}: {why}.")
    }

    fn how(&self) -> &'static str {
        "How to plant"
    }

    fn steps(&self, of: &HoleWords<'_>) -> Vec<String> {
        vec![
            format!("Dig a hole {} wide and {} deep: twice the ball's width, no deeper than the ball.", of.width, of.depth),
            if of.in_pot {
                "Water the tree, take it out of its pot and loosen roots that circle.".to_owned()
            } else {
                "Water the ball. Leave its cloth on until the tree stands in the hole.".to_owned()
            },
            format!("Set it so that the top of the ball is {} above the soil. The union is then about {} up; it must stay {} or more above all soil and mulch. Never bury it.", of.above, of.union, of.union_least),
            format!("Mix {} of coated fertilizer into the soil beside the ball, not against roots. Fill with the same soil.", of.planting),
            format!("Form a basin {} across. Water at once with {}, twice.", of.basin, of.liters),
            format!("Lay mulch {} to {} deep, and keep it {} to {} off the trunk.", of.mulch.0, of.mulch.1, of.mulch_free.0, of.mulch_free.1),
            "Paint the trunk with white latex, 1 to 1 with water, or wrap it: bark burns in sun. Stake it only in wind.".to_owned(),
        ]
    }

    fn spacing(&self) -> &'static str {
        "How far apart"
    }

    fn spacing_garden(&self, apart: &str, wall: &str, height: &str) -> String {
        format!(
            "Set trees {apart} apart and {wall} from walls and paths. They grow to about {height}; prune them to a height you can reach."
        )
    }

    fn spacing_orchard(&self, of: &OrchardWords<'_>) -> String {
        format!(
            "{}: {}; {} to {} in the row is sensible. {} rows of {} trees, {} in the last; rows {} long; {} without headlands. Keep trees below {} so that sun reaches the next row.",
            of.kind,
            of.per_area,
            of.range.0,
            of.range.1,
            of.rows,
            of.trees_a_row,
            of.in_last,
            of.row,
            of.ground,
            of.keep
        )
    }

    fn water(&self) -> &'static str {
        "Water in the first year"
    }

    fn water_lead(&self, soil: &str, ball: &str) -> String {
        format!(
            "Worked out from this place's sun, heat and rain, {soil}, and a root ball of {ball} that grows out. In dry weather:"
        )
    }

    fn water_heads(&self) -> [&'static str; 4] {
        [
            "From",
            "Water",
            "Each time, a tree",
            "With usual rain, times a week",
        ]
    }

    fn every(&self, least: u32, most: u32) -> String {
        match (least, most) {
            (0, 0) => "twice a day".to_owned(),
            (0 | 1, 1) => "every day".to_owned(),
            (2, 2) => "every second day".to_owned(),
            (7, 7) => "about weekly".to_owned(),
            (one, other) if one == other => format!("every {one} days"),
            (one, other) => format!("every {one} to {other} days"),
        }
    }

    fn water_notes(&self, years: [&str; 3], rain_known: bool) -> Vec<String> {
        let mut notes = vec![
            "Feel the soil a finger deep before you water. Wet leaves at night and standing water do harm.".to_owned(),
            format!("Driest week, a tree: {} in the first year, {} in the second, {} in the third.", years[0], years[1], years[2]),
        ];
        if !rain_known {
            notes.push("Rain of this place is not known, so none is counted.".to_owned());
        }
        notes
    }

    fn soil(&self, soil: &str) -> String {
        format!("{soil} soil")
    }

    fn feed(&self) -> &'static str {
        "Feed"
    }

    fn feed_heads(&self, winter: &str, second: &str, second_is: FeedSeasonAnswer) -> [String; 4] {
        let season = match second_is {
            FeedSeasonAnswer::EndOfWinter => "End of winter",
            FeedSeasonAnswer::EarlySummer => "Early summer",
            FeedSeasonAnswer::EndOfSummer => "End of summer",
        };
        [
            "A tree".to_owned(),
            format!("End of winter, about {winter}"),
            format!("{season}, about {second}"),
            "Nitrogen".to_owned(),
        ]
    }

    fn feed_at_planting(&self, months: &str, percent: &str) -> String {
        format!("At planting: coated, {months} months, {percent} % nitrogen")
    }

    fn feed_year(&self, year: usize) -> String {
        if year >= 4 {
            "Year 4 and later".to_owned()
        } else {
            format!("Year {year}")
        }
    }

    fn feed_notes(&self, months: &str, until: &str, percent: &str) -> Vec<String> {
        vec![
            format!(
                "Coated fertilizer of {months} months by its label lasts here until about {until}: warm soil empties it faster (Jacobs 2005)."
            ),
            format!(
                "Later feeds are counted with {percent} % nitrogen. With another share, give as much nitrogen. Spread below the outer leaves, off the trunk, and water in. Too much burns roots."
            ),
        ]
    }

    fn late_feed(&self, left_out: Option<&str>) -> String {
        match left_out {
            Some(odds) => format!("No feed at the end of summer: frost meets the soft growth from it in {odds} of 10 years here."),
            None => "If winter comes early, leave out the feed at the end of summer: soft growth freezes first.".to_owned(),
        }
    }

    fn care(&self) -> &'static str {
        "First years"
    }

    fn care_items(&self, union: &str) -> Vec<String> {
        vec![
            "Take off flowers and fruit in the first year, and most in the second: the tree needs its strength for roots.".to_owned(),
            format!("Shoots from below the union ({union} up) are suckers of the rootstock. Rub them off while small, all year."),
            "Prune only broken and crossing shoots in the first year. Keep grass 1 m off.".to_owned(),
        ]
    }

    fn frost_items(&self, flush: usize, of: usize, covered: bool) -> Vec<String> {
        let mut items = Vec::new();
        if flush == 0 {
            items.push(format!("Frost: none of {of} winters kills soft shoots here. Listen to the forecast all the same."));
        } else {
            items.push(format!("Frost: {flush} of {of} winters have a night that kills soft shoots. Cover young trees on such nights down to the ground; take covers off by day. Moist bare soil gives warmth."));
        }
        if covered {
            items.push("Each winter: wrap the trunk to above the union, and have a cover ready. Take off wraps in spring and look for ants and rot.".to_owned());
        }
        items
    }

    fn delivery(&self) -> &'static str {
        "Delivery and heeling in"
    }

    fn delivery_items(&self, of: &DeliveryWords<'_>) -> Vec<String> {
        vec![
            format!(
                "Look at {} on the day they come: number, labels, unions, roots, pests. Tell the nursery within two days.",
                of.trees
            ),
            format!(
                "Keep trees in shade, out of wind, balls moist; plant within a week. If you must wait, heel in: a shaded trench {} deep in soil that drains, balls covered and moist, unions above ground, three weeks at most (common practice).",
                of.trench
            ),
            format!(
                "Have water laid on: {} for the first day. Plan for {} a tree in the driest week of the third year. Where fertilizer goes into the water, fit a backflow preventer.",
                of.liters, of.driest
            ),
        ]
    }

    fn cautions(&self) -> &'static str {
        "Take care"
    }

    fn caution_items(&self, form: Form) -> Vec<&'static str> {
        let mut items = vec![
            "Moving citrus plants, cuttings or soil may be forbidden or need a permit. The plant-health authority's rules go before this sheet.",
            "The label of a product is the law. Local advice, soil and leaf analysis go before these figures. Where work needs a licence, ask those who have one.",
            "Thorns and knives: wear gloves and eye cover. See a doctor when a thorn has entered a joint or an eye.",
        ];
        if form == Form::Garden {
            items.push("Where fertilizer goes into the hose, fit a backflow preventer.");
        }
        items
    }

    fn sources(&self, climate: &str) -> String {
        format!(
            "{climate} Water: FAO-56 with a young tree's roots. Hole: UC Master Gardeners. Spacing, union, mulch, cold limits, 50 g at planting: common practice, from memory. Nitrogen: NSW DPI 2004 (first year), Guazzelli et al. and UF SL253 (second), Thompson et al. (later)."
        )
    }

    fn climate(&self, of: &ClimateWords<'_>) -> String {
        let years = of.years;
        let memory = if of.from_memory { ", from memory" } else { "" };
        match (of.city, of.distance) {
            (Some(city), Some(distance)) => format!(
                "Climate: monthly normals of {city}{memory}, {distance} away; {years} years made from them, milder in their extremes than real ones."
            ),
            (Some(city), None) => format!(
                "Climate: monthly normals of {city}{memory}; {years} years made from them, milder in their extremes than real ones."
            ),
            _ => format!(
                "Climate: monthly normals as typed; {years} years made from them, milder in their extremes than real ones."
            ),
        }
    }

    fn drawing(&self) -> &'static DrawingWords {
        &DRAWING
    }
}

static DRAWING: DrawingWords = DrawingWords {
    section: "Planting section",
    section_told: |width, depth, above| {
        format!(
            "A cut through the hole: {width} wide, {depth} deep; the top of the ball {above} above the soil; mulch kept off the trunk."
        )
    },
    union_title: "Height of the union",
    union_told: |union| {
        format!(
            "The union of scion and rootstock stands {union} above the soil; suckers below it come off."
        )
    },
    plan: "Spacing plan",
    plan_told: |in_row, between| {
        format!("Trees from above: {in_row} in the row, {between} between rows.")
    },
    ball: "root ball",
    soil: "same soil",
    mulch: "mulch",
    basin: "basin",
    union: "union",
    sucker: "sucker: take off",
    surface: "soil",
    scion: "variety",
    rootstock: "rootstock",
    row: "row",
    wall: "wall",
};
