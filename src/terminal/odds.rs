/// A chance in whole per cent, never shown as 0 or 100 %.
pub fn chance_in_figures(chance: f64) -> String {
    match (100.0 * chance).round() {
        ..1.0 => "under 1 %".to_owned(),
        100.0.. => "over 99 %".to_owned(),
        whole => format!("{whole} %"),
    }
}

/// The same as part of a sentence: "a 68 % chance", "an 18 % chance", "a chance of over 99 %".
pub fn a_chance(chance: f64) -> String {
    let figures = chance_in_figures(chance);
    // Eight, eleven, eighteen and eighty begin with a vowel.
    let vowel = figures.starts_with('8') || ["11 %", "18 %"].contains(&&*figures);
    match figures.starts_with(|sign: char| sign.is_ascii_digit()) {
        true => format!("{} {figures} chance", if vowel { "an" } else { "a" }),
        false => format!("a chance of {figures}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_never_claim_certainty() {
        assert_eq!(chance_in_figures(0.999), "over 99 %");
        assert_eq!(chance_in_figures(0.001), "under 1 %");
        assert_eq!(chance_in_figures(0.684), "68 %");
        assert_eq!(chance_in_figures(0.995), "over 99 %");
        assert_eq!(chance_in_figures(0.005), "1 %");
    }

    #[test]
    fn a_chance_has_the_article_that_is_spoken() {
        let of = |per_cent: &str| a_chance(per_cent.parse::<f64>().unwrap() / 100.0);
        for per_cent in ["8", "11", "18", "80", "89"] {
            assert_eq!(of(per_cent), format!("an {per_cent} % chance"));
        }
        for per_cent in ["1", "10", "12", "17", "70", "98"] {
            assert_eq!(of(per_cent), format!("a {per_cent} % chance"));
        }
        assert_eq!(
            (of("0"), of("100")),
            ("a chance of under 1 %".into(), "a chance of over 99 %".into())
        );
    }
}
