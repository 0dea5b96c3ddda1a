//! The fixed scale from odds to a word and a shape; every page and answer uses it.

/// A word for the odds of a promise.
///
/// | odds | word | shape |
/// |---|---|---|
/// | 95 % or more | safe | filled circle |
/// | 80 % to 95 % | likely | ring |
/// | 50 % to 80 % | at risk | filled triangle |
/// | 5 % to 50 % | unlikely | hollow diamond |
/// | under 5 % | lost | cross |
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Odds {
    /// 95 % or more.
    Safe,
    /// 80 % or more.
    Likely,
    /// 50 % or more.
    AtRisk,
    /// 5 % or more.
    Unlikely,
    /// Under 5 %.
    Lost,
}

impl Odds {
    /// The whole scale, best first.
    pub const ALL: [Self; 5] = [
        Self::Safe,
        Self::Likely,
        Self::AtRisk,
        Self::Unlikely,
        Self::Lost,
    ];

    /// The place of a probability on the scale; what is not a number counts as lost.
    pub fn of(probability: f64) -> Self {
        Self::ALL
            .into_iter()
            .find(|odds| probability >= odds.least())
            .unwrap_or(Self::Lost)
    }

    /// The least probability that earns the word.
    pub fn least(self) -> f64 {
        match self {
            Self::Safe => 0.95,
            Self::Likely => 0.80,
            Self::AtRisk => 0.50,
            Self::Unlikely => 0.05,
            Self::Lost => 0.0,
        }
    }

    /// The word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Safe => "safe",
            Self::Likely => "likely",
            Self::AtRisk => "at risk",
            Self::Unlikely => "unlikely",
            Self::Lost => "lost",
        }
    }

    /// What the word means, in figures.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Safe => "95 in 100 or better",
            Self::Likely => "80 to 95 in 100",
            Self::AtRisk => "50 to 80 in 100",
            Self::Unlikely => "5 to 50 in 100",
            Self::Lost => "under 5 in 100",
        }
    }

    /// The shape as a letter, for running text.
    pub fn shape(self) -> &'static str {
        match self {
            Self::Safe => "●",
            Self::Likely => "○",
            Self::AtRisk => "▲",
            Self::Unlikely => "◇",
            Self::Lost => "×",
        }
    }

    /// The name of the shape among the marks that a page defines.
    pub(crate) fn mark(self) -> &'static str {
        match self {
            Self::Safe => "mark-safe",
            Self::Likely => "mark-likely",
            Self::AtRisk => "mark-at-risk",
            Self::Unlikely => "mark-unlikely",
            Self::Lost => "mark-lost",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Odds;

    #[test]
    fn each_bound_earns_the_better_word() {
        for (probability, word) in [
            (1.0, "safe"),
            (0.95, "safe"),
            (0.949_999, "likely"),
            (0.80, "likely"),
            (0.799_999, "at risk"),
            (0.50, "at risk"),
            (0.499_999, "unlikely"),
            (0.05, "unlikely"),
            (0.049_999, "lost"),
            (0.0, "lost"),
            (f64::NAN, "lost"),
        ] {
            assert_eq!(Odds::of(probability).word(), word, "at {probability}");
        }
    }

    #[test]
    fn words_shapes_and_marks_differ() {
        for (at, odds) in Odds::ALL.iter().enumerate() {
            for other in &Odds::ALL[at + 1..] {
                assert_ne!(odds.word(), other.word());
                assert_ne!(odds.shape(), other.shape());
                assert_ne!(odds.mark(), other.mark());
            }
        }
    }
}
