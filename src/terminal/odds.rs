//! Chances in figures.

/// A chance in whole per cent, never shown as 0 or 100 %.
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
    fn figures_never_claim_certainty() {
        assert_eq!(chance_in_figures(0.999), "over 99 %");
        assert_eq!(chance_in_figures(0.001), "under 1 %");
        assert_eq!(chance_in_figures(0.684), "68 %");
    }
}
