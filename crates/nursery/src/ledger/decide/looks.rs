//! Samples that were looked at.

use crate::ledger::act::Measure;
use crate::ledger::event::Event;
use crate::ledger::refusal::Refusal;

use super::rules::some;
use super::{Decided, Desk};

impl Desk<'_> {
    pub(super) fn measure(self, deed: &Measure) -> Decided {
        let standing = self.lot(&deed.lot)?;
        let measured = deed.calipers_mm.as_ref().map_or(0, Vec::len);
        if deed.fit.is_none() && measured == 0 {
            return Err(Refusal::new(
                "nothing was seen of the sample",
                "say how many of the plants were fit, or give their calipers",
            ));
        }
        let looked_at = deed.looked_at();
        some(looked_at, "plants looked at")?;
        if measured > 0 && u32::try_from(measured) != Ok(looked_at) {
            return Err(Refusal::new(
                format!("{measured} calipers are given of {looked_at} plants looked at"),
                "give one caliper a plant, or leave the number out",
            ));
        }
        if deed.fit_from_mm.is_some() && measured == 0 {
            return Err(Refusal::new(
                "a caliper to be fit from tells nothing without calipers",
                "give the calipers, or leave it out",
            ));
        }
        if let Some(fit) = deed.fit.filter(|fit| *fit > looked_at) {
            return Err(Refusal::new(
                format!("{fit} fit plants are more than the {looked_at} looked at"),
                format!("give at most {looked_at} as fit"),
            ));
        }
        let stand = standing.view.plants();
        if looked_at > stand {
            return Err(Refusal::new(
                format!(
                    "{looked_at} plants looked at are more than the {stand} that stand in {}",
                    deed.lot
                ),
                format!("give at most {stand}, or count the lot first"),
            ));
        }
        Ok(vec![Event::Measured(deed.clone())])
    }
}
