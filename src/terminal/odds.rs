//! Chances in words and figures.

/// Simple chances and how they are said.
const SAID: [(f64, &str); 19] = [
    (0.01, "about 1 time in 100"),
    (0.05, "about 1 time in 20"),
    (0.10, "about 1 time in 10"),
    (1.0 / 7.0, "about 1 time in 7"),
    (0.20, "about 1 time in 5"),
    (0.25, "about 1 time in 4"),
    (0.30, "about 3 times in 10"),
    (1.0 / 3.0, "about 1 time in 3"),
    (0.40, "about 2 times in 5"),
    (0.50, "about as often as not"),
    (0.60, "about 3 times in 5"),
    (2.0 / 3.0, "about 2 times in 3"),
    (0.70, "about 7 times in 10"),
    (0.75, "about 3 times in 4"),
    (0.80, "about 4 times in 5"),
    (6.0 / 7.0, "about 6 times in 7"),
    (0.90, "about 9 times in 10"),
    (0.95, "about 19 times in 20"),
    (0.99, "about 99 times in 100"),
];

/// A chance in words, from `hardly ever` to `almost always`.
pub fn chance_in_words(chance: f64) -> &'static str {
    if chance < 0.005 {
        return "hardly ever";
    }
    if chance > 0.995 {
        return "almost always";
    }
    // Chances are compared as odds: 0.02 is nearer to 0.01 than to 0.05 as a binder means it.
    let odds = |p: f64| (p / (1.0 - p)).ln();
    let off = |said: f64| (odds(said) - odds(chance)).abs();
    SAID.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0))).map_or("", |said| said.1)
}

/// A chance in figures: whole per cent, never 0 or 100 where neither is so.
pub fn chance_in_figures(chance: f64) -> String {
    if chance < 0.005 {
        "under 1 %".to_owned()
    } else if chance > 0.995 {
        "over 99 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * chance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_said_as_people_say_them() {
        let cases = [
            (0.0, "hardly ever"),
            (0.02, "about 1 time in 100"),
            (0.04, "about 1 time in 20"),
            (0.48, "about as often as not"),
            (0.15, "about 1 time in 7"),
            (0.67, "about 2 times in 3"),
            (0.91, "about 9 times in 10"),
            (1.0, "almost always"),
        ];
        for (chance, words) in cases {
            assert_eq!(chance_in_words(chance), words, "{chance}");
        }
    }

    #[test]
    fn figures_never_claim_certainty() {
        assert_eq!(chance_in_figures(0.999), "over 99 %");
        assert_eq!(chance_in_figures(0.001), "under 1 %");
        assert_eq!(chance_in_figures(0.684), "68 %");
    }
}
