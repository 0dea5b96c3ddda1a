//! How acts reach the ledger: in time, late, twice, or wrong and then corrected.

use std::collections::{BTreeMap, VecDeque};

use serde_json::{Value, json};

use crate::ground::{Day, LotId};
use crate::simulator::{Expect, FINAL_AFTER_DAYS, Sent, Simulator};

/// What an act's arrival holds up.
#[derive(Clone, Debug)]
pub(crate) enum Touches {
    /// Nothing waits for it; it may come late.
    Nothing,
    /// Others build on it at once; it comes in time.
    All,
    /// Plants leave the lot, which had so many before.
    Loss(LotId, usize),
    /// Plants of the lot are moved elsewhere as a new one.
    Part(LotId, LotId),
    /// A count that found so many.
    Count(LotId, usize),
    /// These lots wait until it has arrived.
    Lots(Vec<LotId>),
}

impl Touches {
    /// How often such an act comes late.
    fn late_odds(&self) -> f64 {
        match self {
            Self::All => 0.0,
            Self::Nothing | Self::Lots(_) => 0.05,
            Self::Loss(..) | Self::Part(..) | Self::Count(..) => 0.1,
        }
    }

    fn lots(&self) -> Vec<LotId> {
        match self {
            Self::Nothing | Self::All => Vec::new(),
            Self::Loss(lot, _) | Self::Count(lot, _) => vec![*lot],
            Self::Part(lot, new) => vec![*lot, *new],
            Self::Lots(lots) => lots.clone(),
        }
    }
}

/// Acts on their way.
#[derive(Clone, Debug, Default)]
pub(crate) struct Post {
    /// Written today, in order.
    fresh: Vec<Sent>,
    /// Sent again at the end of today.
    again: Vec<Sent>,
    waiting: BTreeMap<Day, VecDeque<Sent>>,
}

impl Post {
    pub(crate) fn is_empty(&self) -> bool {
        self.waiting.is_empty()
    }

    /// What arrived before today's work.
    pub(crate) fn arrived(&mut self, today: Day) -> Vec<Sent> {
        self.waiting.remove(&today).unwrap_or_default().into()
    }

    /// What was written today.
    pub(crate) fn written(&mut self) -> impl Iterator<Item = Sent> {
        let again = std::mem::take(&mut self.again);
        std::mem::take(&mut self.fresh).into_iter().chain(again)
    }

    fn deliver(&mut self, sent: Sent, on: Day, today: Day) {
        match sent.expect {
            _ if on > today => self.waiting.entry(on).or_default().push_back(sent),
            Expect::Same => self.again.push(sent),
            Expect::Done | Expect::Refused => self.fresh.push(sent),
        }
    }
}

impl Simulator {
    /// An act of today with the keys of `keys`.
    pub(crate) fn act(&mut self, act: &str, keys: Value) -> Value {
        let on = self.date(self.today);
        let by = self.chance.pick(&crate::names::PEOPLE);
        let id = self.ids.next(on);
        let mut whole = json!({"id": id, "on": on.to_string(), "by": by, "act": act});
        let (Value::Object(whole_keys), Value::Object(keys)) = (&mut whole, keys) else {
            unreachable!("acts are objects")
        };
        whole_keys.extend(keys);
        whole
    }

    /// Sends an act that everything may build on at once.
    pub(crate) fn send(&mut self, act: &str, keys: Value) {
        let act = self.act(act, keys);
        self.record(&act, &Touches::All);
    }

    /// Sends an act that must be refused.
    pub(crate) fn send_refused(&mut self, act: Value) {
        let today = self.today;
        let expect = Expect::Refused;
        self.post.deliver(Sent { act, expect }, today, today);
    }

    /// Sends a valid act the way people do, and holds its lots up until the ledger has it right.
    pub(crate) fn record(&mut self, act: &Value, touches: &Touches) {
        let lots = touches.lots();
        for lot in &lots {
            self.ground.lots[*lot].record.acted_on = self.today;
        }
        // A lot with a late act, or under suspicion, is recorded with care.
        let careful = lots.iter().any(|lot| {
            let lot = &self.ground.lots[*lot];
            lot.record.late_until > self.today || self.is_suspect(lot)
        });
        let mut sent_on = self.today;
        let mut recorded = act.clone();
        if !careful {
            if let Some(wrong) = self.wrong(act, touches) {
                let until = self.today + self.chance.days(1, FINAL_AFTER_DAYS);
                let right = json!({"plants": act["plants"]});
                self.correct(act, Some(right), until);
                for lot in lots {
                    self.freeze(lot, until);
                }
                recorded = wrong;
            } else if self.chance.yes(touches.late_odds()) {
                sent_on += self.chance.days(1, FINAL_AFTER_DAYS);
                self.hold_up(touches, sent_on);
            }
        }
        let today = self.today;
        let done = Sent {
            act: recorded.clone(),
            expect: Expect::Done,
        };
        self.post.deliver(done, sent_on, today);
        self.repeat(&recorded, sent_on);
    }

    /// Now and then an act is sent again, once or twice.
    fn repeat(&mut self, act: &Value, sent_on: Day) {
        if !self.chance.yes(0.04) {
            return;
        }
        for _ in 0..self.chance.between(1, 2) {
            let day = (sent_on + self.chance.days(0, 9)).min(self.today + FINAL_AFTER_DAYS);
            let same = Sent {
                act: act.clone(),
                expect: Expect::Same,
            };
            self.post.deliver(same, day, self.today);
        }
    }

    /// The act as somebody mistook it, if somebody did.
    fn wrong(&mut self, act: &Value, touches: &Touches) -> Option<Value> {
        let (most, may_be_more) = match touches {
            Touches::Loss(_, before) => (*before, act["act"] != "ship"),
            Touches::Count(_, found) => (found + 9, true),
            _ => return None,
        };
        if !self.chance.yes(0.03) {
            return None;
        }
        let right = act["plants"].as_u64()? as usize;
        let off = self.chance.between(1, 9);
        let plants = if may_be_more && self.chance.yes(0.5) {
            right + off
        } else {
            right.checked_sub(off)?
        };
        let fits = plants > 0 && plants < most;
        fits.then(|| {
            let mut wrong = act.clone();
            wrong["plants"] = json!(plants);
            if let Value::Object(keys) = &mut wrong {
                keys.remove("ready");
            }
            wrong
        })
    }

    /// Sends a correction on a later day; without `right` the act never happened.
    pub(crate) fn correct(&mut self, act: &Value, right: Option<Value>, on: Day) {
        let mut keys = json!({"corrects": act["id"]});
        keys["reason"] = json!(match right {
            Some(_) => "the number was misread",
            None => "written down for another nursery",
        });
        if let Some(right) = right {
            keys["right"] = right;
        }
        let mut act = self.act("correct", keys);
        act["on"] = json!(self.date(on).to_string());
        let expect = Expect::Done;
        self.post.deliver(Sent { act, expect }, on, self.today);
    }

    fn hold_up(&mut self, touches: &Touches, until: Day) {
        match touches {
            Touches::Nothing | Touches::All => {}
            Touches::Loss(lot, _) => self.late(*lot, until, false),
            Touches::Count(lot, _) => self.late(*lot, until, true),
            Touches::Part(lot, new) => {
                self.late(*lot, until, false);
                self.freeze(*new, until);
            }
            Touches::Lots(lots) => lots.iter().for_each(|lot| self.freeze(*lot, until)),
        }
    }

    fn late(&mut self, lot: LotId, until: Day, count: bool) {
        let record = &mut self.ground.lots[lot].record;
        record.late_until = until;
        record.late_count = count;
    }

    pub(crate) fn freeze(&mut self, lot: LotId, until: Day) {
        let record = &mut self.ground.lots[lot].record;
        record.frozen_until = record.frozen_until.max(until);
    }
}
