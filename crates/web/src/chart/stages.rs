use maud::{Markup, html};

use super::{picture, place, ready_and_growing};
use crate::figures::count;

/// Plants of one kind.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct StageBar {
    pub(crate) stage: String,
    pub(crate) ready: u64,
    pub(crate) growing: u64,
}

/// Height of a bar with its words, pixels.
const ROW: u32 = 44;

/// Room for what the shades mean, pixels.
const HEAD: u32 = 20;

/// Plants by kind as lying bars: the ready ones full, the growing ones behind them.
pub(crate) fn stage_bars(id: &str, title: &str, bars: &[StageBar]) -> Markup {
    let most = bars
        .iter()
        .map(|it| it.ready + it.growing)
        .max()
        .unwrap_or(0)
        .max(1);
    let wide = |plants: u64| plants as f64 * 100.0 / most as f64;
    let said = |bar: &StageBar| {
        format!(
            "{}: {} ready, {} growing",
            bar.stage,
            count(bar.ready),
            count(bar.growing)
        )
    };
    let description = bars.iter().map(said).collect::<Vec<_>>().join("; ");
    let body = html! {
        (ready_and_growing(HEAD))
        @for (at, bar) in bars.iter().enumerate() {
            @let top = HEAD + at as u32 * ROW;
            text x="0" y=(top + 14) { (said(bar)) }
            rect.band x="0" y=(top + 20) height="16" width=(place(wide(bar.ready + bar.growing))) {}
            rect.use x="0" y=(top + 20) height="16" width=(place(wide(bar.ready))) {}
        }
    };
    picture(
        id,
        HEAD + bars.len() as u32 * ROW,
        title,
        &description,
        &body,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_begin_at_nothing_and_are_told_in_words() {
        let bars = [
            StageBar {
                stage: "liner".to_owned(),
                ready: 10,
                growing: 30,
            },
            StageBar {
                stage: "budded".to_owned(),
                ready: 0,
                growing: 20,
            },
        ];
        let drawn = stage_bars("s", "Plants", &bars).into_string();
        assert!(drawn.contains("liner: 10 ready, 30 growing"), "{drawn}");
        assert!(
            drawn.contains("width=\"25%\"") && drawn.contains("width=\"50%\""),
            "{drawn}"
        );
        assert!(!drawn.contains("style="));
    }
}
