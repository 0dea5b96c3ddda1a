//! Days with something to do as a calendar (iCalendar, RFC 5545).

use icalendar::{Calendar, Component, Event, Property};
use jiff::civil::{Date, DateTime};

/// Something to do on a day or over some days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name among all entries of all calendars of the same program: the same thing has the same name in a
    /// later calendar.
    pub name: String,
    /// First day.
    pub from: Date,
    /// Last day.
    pub until: Date,
    /// What, in a line.
    pub what: String,
    /// More of it.
    pub more: String,
}

/// Entries as a calendar. They last whole days and do not make their days busy.
///
/// `made_at` is the time, in UTC, that all entries bear: the same entries of the same time give the same bytes.
pub fn calendar(title: &str, entries: &[Entry], made_at: DateTime) -> Vec<u8> {
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", "-//Barkslip//EN"));
    calendar.append_property(Property::new("CALSCALE", "GREGORIAN"));
    calendar.name(title);
    for entry in entries {
        calendar.push(event(entry, made_at));
    }
    calendar.to_string().into_bytes()
}

fn event(entry: &Entry, made_at: DateTime) -> Event {
    // A calendar's last day is the first one that is free again.
    let free = entry.until.tomorrow().unwrap_or(entry.until);
    let mut event = Event::with_uid(&entry.name);
    event
        .append_property(day("DTSTART", entry.from))
        .append_property(day("DTEND", free))
        .add_property("DTSTAMP", made_at.strftime("%Y%m%dT%H%M%SZ").to_string())
        .add_property("TRANSP", "TRANSPARENT")
        .summary(&entry.what);
    if !entry.more.is_empty() {
        event.description(&entry.more);
    }
    event.done()
}

fn day(name: &str, date: Date) -> Property {
    Property::new(name, date.strftime("%Y%m%d").to_string())
        .add_parameter("VALUE", "DATE")
        .done()
}

#[cfg(test)]
mod tests {
    use ical::parser::ical::component::IcalEvent;
    use jiff::civil::{date, datetime};

    use super::*;

    fn entry(name: &str, what: &str, more: &str) -> Entry {
        Entry {
            name: name.to_owned(),
            from: date(2028, 12, 25),
            until: date(2028, 12, 31),
            what: what.to_owned(),
            more: more.to_owned(),
        }
    }

    fn value(event: &IcalEvent, name: &str) -> String {
        let mut properties = event.properties.iter();
        let found = properties.find(|it| it.name == name);
        found.and_then(|it| it.value.clone()).unwrap_or_default()
    }

    /// Another library reads what was written: RFC 5545, sections 3.1 (lines), 3.3.11 (text), 3.6.1 (events).
    #[test]
    fn another_reader_finds_every_entry() {
        let long = "Bud 1,200 of carrizo; valencia \\ navel. ".repeat(6) + "Zürgelbaum";
        let entries = [
            entry("job-1@barkslip", "Bud, 1,200", &long),
            entry("job-2@barkslip", "Sow", "one\ntwo"),
        ];
        let made_at = datetime(2027, 3, 1, 6, 30, 0, 0);
        let bytes = calendar("Season", &entries, made_at);
        assert_eq!(bytes, calendar("Season", &entries, made_at));
        let text = String::from_utf8(bytes.clone()).expect("it is text");
        // Lines end in CR LF and have 75 octets at the most; long ones are folded.
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
        let mut read = ical::IcalParser::new(bytes.as_slice());
        let read = read.next().expect("a calendar").expect("a right one");
        assert_eq!(read.events.len(), 2);
        let unescaped = |text: String| {
            let text = text.replace("\\n", "\n").replace("\\,", ",");
            text.replace("\\;", ";").replace("\\\\", "\\")
        };
        for (event, entry) in read.events.iter().zip(&entries) {
            assert_eq!(value(event, "UID"), entry.name);
            assert_eq!(value(event, "DTSTART"), "20281225");
            assert_eq!(value(event, "DTEND"), "20290101");
            assert_eq!(value(event, "DTSTAMP"), "20270301T063000Z");
            assert_eq!(unescaped(value(event, "SUMMARY")), entry.what);
            assert_eq!(unescaped(value(event, "DESCRIPTION")), entry.more);
        }
    }
}
