use super::*;
use crate::degree_days::DegreeDays;
use crate::growth::{Planted, Season, Waiting};

const WEEKS: usize = 40;

/// Whether a plant survives, and the stage and week in which it is ready.
type Fate = Option<Option<(bool, usize)>>;

impl Calendar<'_> {
    fn fate(&self, sections: &[Section], one: One) -> Fate {
        match one {
            One::Dead => None,
            One::Never => Some(None),
            One::AtMark(at, mark) => Some(Some((sections[at].is_own, self.first + mark - 1))),
            One::Far(ready) => Some(Some((ready.is_own, ready.week))),
        }
    }

    /// By exact shares alone.
    fn exact_fate(&self, sections: &[Section], number: f64) -> Fate {
        let section = sections.iter().find(|section| number < section.to)?;
        let rank = (number - section.from) / (section.to - section.from);
        let week = self.crop.week_of_rank(rank, self.first);
        Some(week.map(|week| (section.is_own, week)))
    }

    /// What rough shares tell of the plants of a cell that no zone touches.
    fn clear_fate(&self, sections: &[Section], cell: u8) -> Fate {
        for section in sections {
            let zones = section.high.iter().take(self.weeks + 2).enumerate();
            if let Some((mark, _)) = zones.into_iter().find(|(_, high)| cell <= **high) {
                let ready = || (section.is_own, self.first + mark - 1);
                return Some((mark <= self.weeks).then(ready));
            }
        }
        None
    }

    fn agrees_with_exact_shares(&self, chances: Chances, what: &str) {
        let (sections, used) = self.sections(chances);
        let sections = &sections[..used];
        let (mut clear, mut told, mut untold) = (0, 0, 0);
        for cell in 0..=u8::MAX {
            let zones = sections.iter().enumerate().flat_map(|(at, section)| {
                (0..self.weeks + 2)
                    .map(move |mark| (at, mark, section.low[mark]..=section.high[mark]))
            });
            let zone = zones.into_iter().find(|(.., cells)| cells.contains(&cell));
            let places = (0..=u16::MAX).step_by(if zone.is_some() { 5 } else { 16_383 });
            for place in places {
                let edges = [1e-9, 1.0 - 1e-9].map(|further| {
                    let place = (f64::from(place) + further) / 65_536.0;
                    self.exact_fate(sections, (f64::from(cell) + place) / CELLS as f64)
                });
                let rough = match &zone {
                    None => Some(self.clear_fate(sections, cell)),
                    Some((at, mark, _)) => self
                        .one_roughly(sections, (cell, place), (*at, *mark))
                        .map(|one| self.fate(sections, one)),
                };
                if let Some(fate) = rough {
                    assert_eq!(
                        [fate; 2], edges,
                        "{what}, {chances:?}, cell {cell}, {place}"
                    );
                }
                clear += u32::from(zone.is_none());
                told += u32::from(zone.is_some() && rough.is_some());
                untold += u32::from(rough.is_none());
            }
        }
        assert!(
            clear + told > 0 && told > 4 * untold,
            "{what}: {clear}, {told}, {untold}"
        );
    }
}

/// What rough shares tell is what exact ones do, in every cell; and they tell of nearly all plants.
#[test]
fn rough_shares_tell_nothing_wrong() {
    let week = |week: usize| if week % 8 < 4 { 19.0 } else { 0.5 };
    let degree_days = DegreeDays::new(&(0..WEEKS).map(week).collect::<Vec<_>>());
    let all_losses = [(0, 0.9), (10, 0.8), (16, 0.5), (17, 0.6), (30, 0.5)];
    let chances = [
        (0.83, Some(0.37)),
        (0.999, None),
        (1.0, Some(0.02)),
        (0.05, None),
    ];
    for spread in [0.0, 0.004, 1.0 / 64.0, 0.08, 0.2, 0.35] {
        for (from, behind, losses) in [(0, 0.0, 0), (4, 0.0, 5), (9, 150.0, 3), (30, 0.0, 0)] {
            let season = Season {
                degree_days: &degree_days,
                losses: &all_losses[..losses],
            };
            let lot = Planted {
                plants: 100,
                from,
                degree_days: behind,
                luck: 0.0,
                moved: 0.0,
            };
            let crop = Crop::new(Waiting::new(libm::log(200.0), spread), season, lot);
            let mut calendar = Calendar::new(&crop);
            calendar.look_up().expect("there are few weeks");
            for (survival, own) in chances {
                let what = format!("spread {spread}, from {from}");
                calendar.agrees_with_exact_shares(Chances { survival, own }, &what);
            }
        }
    }
}
