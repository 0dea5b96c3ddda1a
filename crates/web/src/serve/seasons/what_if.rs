//! What if something were otherwise: changes are taken one after another, and a plan is made under them.

use std::collections::BTreeMap;

use app::ledger::{Choices, load_ledger};
use app::{AppError, Kind as Failed};
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::{Map, Value};

use super::OF;
use crate::serve::address;
use crate::serve::ask::{Ask, Fields};
use crate::serve::enquiry::not_possible;
use crate::serve::form::{self, Field, Kind, field};
use crate::serve::office::Office;
use crate::serve::page::Page;
use crate::serve::reply::Reply;
use crate::serve::work::How;
use crate::words::what_if as words;

/// Where the page is.
const HERE: &str = "/seasons/what-if";

/// The key of a change that was taken, in the address and in the form that makes the plan.
const CHANGE: &str = "change";

/// The key that tells which part of the page was filled in.
const PART: &str = "part";

/// A question of the page: one change.
struct Part {
    key: &'static str,
    head: &'static str,
    fields: &'static [Field],
    /// The change as it is written, from the fields' values.
    written: fn(&Values) -> String,
}

/// The values of a part as they were read.
struct Values(Map<String, Value>);

impl Values {
    /// As text; empty where there is none.
    fn of(&self, key: &str) -> String {
        match self.0.get(key) {
            Some(Value::String(text)) => text.clone(),
            Some(value) => value.to_string(),
            None => String::new(),
        }
    }

    /// ` before` and the value; nothing where there is none.
    fn after(&self, before: &str, key: &str) -> String {
        let given = self.0.contains_key(key).then(|| self.of(key));
        given.map_or_else(String::new, |it| format!("{before}{it}"))
    }

    /// The week of a day, as it is written.
    fn week(&self, key: &str) -> Option<String> {
        let day: Date = self.of(key).parse().ok()?;
        let week = day.iso_week_date();
        Some(format!("{}-W{:02}", week.year(), week.week()))
    }
}

const VARIETY: Field = field(
    "variety",
    words::OF_VARIETY,
    Kind::One(Choices::Varieties),
    false,
    words::OF_ALL,
);

static PARTS: [Part; 7] = [
    Part {
        key: "crew",
        head: words::A_CREW,
        fields: &[
            field("crew", words::CREW, Kind::One(Choices::Crews), true, ""),
            field("percent", words::HOURS_LEFT, Kind::Whole, true, ""),
            field("from", words::FROM, Kind::Day, false, words::WEEKS_HINT),
            field("to", words::TO, Kind::Day, false, ""),
        ],
        written: |it| {
            let plain = format!("crew {} {}%", it.of("crew"), it.of("percent"));
            match (it.week("from"), it.week("to")) {
                (None, None) => plain,
                (from, to) => {
                    let [from, to] = [from, to].map(Option::unwrap_or_default);
                    format!("{plain} from {from} to {to}")
                }
            }
        },
    },
    Part {
        key: "spring",
        head: words::SPRING,
        fields: &[field(
            "weeks",
            words::WEEKS_LATE,
            Kind::Whole,
            true,
            words::WEEKS_LATE_HINT,
        )],
        written: |it| format!("spring {} weeks late", it.of("weeks")),
    },
    Part {
        key: "order",
        head: words::AN_ORDER,
        fields: &[
            field("plants", words::PLANTS, Kind::Whole, true, ""),
            Field {
                needed: true,
                hint: "",
                ..VARIETY
            },
            field(
                "rootstock",
                words::ROOTSTOCK,
                Kind::One(Choices::Rootstocks),
                true,
                "",
            ),
            field("size", words::SIZE, Kind::One(Choices::Sizes), true, ""),
            field("by", words::BY, Kind::Day, true, words::BY_HINT),
        ],
        written: |it| {
            format!(
                "order {} {} on {}, {} by {}",
                it.of("plants"),
                it.of("variety"),
                it.of("rootstock"),
                it.of("size"),
                it.week("by").unwrap_or_default()
            )
        },
    },
    Part {
        key: "place",
        head: words::A_PLACE,
        fields: &[
            field("place", words::PLACE, Kind::One(Choices::Places), true, ""),
            field("percent", words::GROUND_LEFT, Kind::Whole, true, ""),
        ],
        written: |it| format!("place {} {}%", it.of("place"), it.of("percent")),
    },
    Part {
        key: "buds",
        head: words::BUDS,
        fields: &[
            VARIETY,
            field("percent", words::BUDS_LEFT, Kind::Whole, true, ""),
        ],
        written: |it| {
            format!(
                "mother trees{} {}%",
                it.after(" of ", "variety"),
                it.of("percent")
            )
        },
    },
    Part {
        key: "price",
        head: words::PRICES,
        fields: &[
            VARIETY,
            field(
                "percent",
                words::PRICE_THEN,
                Kind::Whole,
                true,
                words::PRICE_HINT,
            ),
        ],
        written: |it| format!("price{} {}%", it.after(" of ", "variety"), it.of("percent")),
    },
    Part {
        key: "target",
        head: words::TARGETS,
        fields: &[
            field("line", words::LINE, Kind::Text, false, words::LINE_HINT),
            field(
                "percent",
                words::TARGET_THEN,
                Kind::Whole,
                true,
                words::TARGET_HINT,
            ),
        ],
        written: |it| format!("target{} {}%", it.after(" of ", "line"), it.of("percent")),
    },
];

/// What was taken so far, and what is wrong with the part just filled in.
#[derive(Default)]
struct View {
    taken: Vec<String>,
    part: Option<&'static str>,
    values: Fields,
    wrong: BTreeMap<&'static str, String>,
    refused: Option<AppError>,
}

impl View {
    /// Of changes that are all readable.
    fn taken(from: &Fields) -> Self {
        let texts: Vec<String> = from.all(CHANGE).map(str::to_owned).collect();
        match app::changes(&texts) {
            Ok(changes) => Self {
                taken: changes.iter().map(ToString::to_string).collect(),
                ..Self::default()
            },
            Err(refused) => Self {
                refused: Some(refused),
                ..Self::default()
            },
        }
    }

    /// Takes the part that was filled in; it stays in its form where something is wrong with it.
    fn take(mut self, part: &'static Part, values: &Fields, decimals: usize) -> Self {
        let form::Read { keys, mut wrong } = form::read(part.fields, values, decimals);
        if values.get("from").is_some() != values.get("to").is_some() {
            wrong.insert("to", words::BOTH_WEEKS.to_owned());
        }
        if wrong.is_empty() {
            match app::changes(&[(part.written)(&Values(keys))]) {
                Ok(changes) => {
                    self.taken.extend(changes.iter().map(ToString::to_string));
                    return self;
                }
                Err(refused) => self.refused = Some(refused),
            }
        }
        Self {
            part: Some(part.key),
            values: values.clone(),
            wrong,
            ..self
        }
    }

    fn page(&self, office: &Office, day: Date) -> Page {
        let body = html! {
            @if let Some(refused) = &self.refused { (not_possible(refused)) }
            p.say { (words::HELP) }
            (self.chosen())
            section {
                @if !self.taken.is_empty() { h2 { (words::ANOTHER) } }
                @for part in &PARTS { (self.part(part, office, day)) }
            }
            p { a href=(OF) { (crate::words::seasons::SHEET) } }
        };
        Page::new(OF, words::SHEET, words::QUESTION, body)
    }

    fn chosen(&self) -> Markup {
        html! {
            @if !self.taken.is_empty() {
                section {
                    h2 { (words::CHOSEN) }
                    ul.plain {
                        @for (at, change) in self.taken.iter().enumerate() {
                            li { b { (change) } " " a href=(self.without(at)) { (words::LEAVE_OUT) } }
                        }
                    }
                    form.entry method="post" action=(HERE) {
                        (self.kept())
                        p.quiet { (words::MAKE_WORDS) }
                        (super::more_rounds_tick())
                        div.acts { button { (words::MAKE) } }
                    }
                }
            }
        }
    }

    /// What was taken, to go with a form.
    fn kept(&self) -> Markup {
        html! { @for change in &self.taken { input type="hidden" name=(CHANGE) value=(change); } }
    }

    /// The page without one of those taken.
    fn without(&self, left_out: usize) -> String {
        let others = self.taken.iter().enumerate();
        let others = others.filter(|(at, _)| *at != left_out);
        let fields: Vec<(&str, &str)> = others.map(|(_, it)| (CHANGE, it.as_str())).collect();
        address::with_fields(HERE, &fields)
    }

    fn part(&self, part: &Part, office: &Office, day: Date) -> Markup {
        let is_this = self.part == Some(part.key);
        let (values, wrong) = if is_this {
            (self.values.clone(), self.wrong.clone())
        } else {
            Default::default()
        };
        html! {
            details open[is_this] {
                summary { (part.head) }
                form.entry action=(HERE) {
                    (self.kept())
                    input type="hidden" name=(PART) value=(part.key);
                    (form::draw(part.fields, &values, &wrong, |of| office.choices(day, of)))
                    div.acts { button.plain { (words::ADD) } }
                }
            }
        }
    }
}

/// The page, with what was taken and what was filled in last.
#[expect(
    clippy::unnecessary_wraps,
    reason = "pages and forms are functions of one kind"
)]
pub(in crate::serve) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let view = View::taken(&ask.query);
    let filled_in = ask.query.get(PART);
    let view = match PARTS.iter().find(|part| filled_in == Some(part.key)) {
        Some(part) => view.take(part, &ask.query, office.decimals()),
        None => view,
    };
    Ok(Reply::Page(view.page(office, office.day(ask))))
}

/// Begins to make the plan.
pub(in crate::serve) fn start(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let view = View::taken(&ask.form);
    let how = How {
        more_rounds: ask.form.get(super::MORE_ROUNDS).is_some(),
        ..How::default()
    };
    let refuse = |what: &str, mend: &str| AppError::new(Failed::Invalid, what, words::SHEET, mend);
    let refused = if view.refused.is_some() {
        view.refused.clone()
    } else if view.taken.is_empty() {
        Some(refuse(words::NONE, words::NONE_MEND))
    } else if let Err(unknown) = fits(office, &view.taken) {
        Some(unknown)
    } else if office.start_plan(how, &view.taken)? {
        return Ok(Reply::See(OF.to_owned()));
    } else {
        Some(refuse(words::RUNS, words::RUNS_MEND))
    };
    let view = View { refused, ..view };
    Ok(Reply::NotDone(view.page(office, office.day(ask))))
}

/// Whether the nursery as it stands has all that changes name.
fn fits(office: &Office, taken: &[String]) -> Result<(), AppError> {
    let changes = app::changes(taken)?;
    office.desk.read(|file, sight| {
        let loaded = load_ledger(file, &sight.books, office.today())?;
        loaded.under(&changes).map(|_| ())
    })
}
