//! A kept plan as the options of `predict` that it stands for.

use crate::trade::{KeptForecast, Pairs, Target, parts};

/// What holds for the whole block, as it is kept.
const BLOCK: &[&str] = &["state", "guards-mm", "fore-edge-mm"];
/// What is kept of a run.
const RUN: &[&str] = &["paper", "thread", "sections", "sheets", "on", "ends", "boned"];

/// The options of `predict` that describe the plan and what was wanted; `None` for a plan that a
/// person wrote in words of their own. A target keeps its name while it has the same bounds.
pub(crate) fn plan_options(
    kept: &KeptForecast,
    targets: &[Target],
) -> Option<Vec<(&'static str, String)>> {
    let mut options = Vec::new();
    let all = parts(kept.plan.text(), ';').ok()?;
    let (block, runs) = all.split_first()?;
    let mut block = vec![*block];
    let is_run = |part: &&&str| Pairs::parse(part, RUN).is_ok();
    let first = runs.iter().position(|part| is_run(&part))?;
    block.extend(&runs[..first]);
    for part in block {
        let pairs = Pairs::parse(part, BLOCK).ok()?;
        let mut option = |key: &str, name: &'static str, unit: &str| {
            options.extend(pairs.get(key).map(|value| (name, format!("{value}{unit}"))));
        };
        option("state", "state", "");
        option("guards-mm", "guards", "mm");
        option("fore-edge-mm", "fore-edge", "mm");
    }
    match runs[first..] {
        [run] => {
            let pairs = Pairs::parse(run, RUN).ok()?;
            let said = |name: &'static str| Some((name, pairs.get(name)?.to_owned()));
            options.extend(RUN.iter().copied().filter_map(said));
        }
        _ => options.extend(runs[first..].iter().map(|run| ("run", run.trim().to_owned()))),
    }
    options.extend(kept.aim.as_ref().map(|aim| {
        let wanted = &aim.wanted;
        let bounds = (wanted.low_percent(), wanted.high_percent());
        let is_same = |target: &&Target| {
            Some(&target.name) == wanted.name()
                && (target.low_percent(), target.high_percent()) == bounds
        };
        let named = targets.iter().find(is_same).map(|target| target.name.to_string());
        ("target", named.unwrap_or_else(|| format!("{}..{}", bounds.0, bounds.1)))
    }));
    Some(options)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::{Aim, KeptPlan, SwellQuantiles};

    fn options(plan: &str, wanted: Option<&str>) -> Option<Vec<(&'static str, String)>> {
        let kept = KeptForecast {
            name: "ledger".parse().unwrap(),
            made: jiff::civil::date(2026, 3, 1),
            plan: plan.parse::<KeptPlan>().unwrap(),
            swell: SwellQuantiles::new([1.0, 2.0, 3.0, 4.0, 5.0]).unwrap(),
            aim: wanted.map(|wanted| Aim::new(wanted.parse().unwrap(), 0.5).unwrap()),
            outcome_percent: None,
        };
        plan_options(&kept, &[])
    }

    fn said(plan: &str, wanted: Option<&str>) -> String {
        let options = options(plan, wanted).unwrap();
        let each = options.iter().map(|(name, value)| format!("{name}={value}"));
        each.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_kept_plan_of_one_run_is_the_options_it_was_predicted_with() {
        let plan = "state=knocked; guards_mm=0.24; fore_edge_mm=21.4; \
                    paper=\"A, b\",thread=flax,sections=24,sheets=4,on=2,ends=3,boned=yes";
        let wanted = "state=knocked guards=0.24mm fore-edge=21.4mm paper=A, b thread=flax \
                      sections=24 sheets=4 on=2 ends=3 boned=yes target=25..35";
        assert_eq!(said(plan, Some("rounded 25..35")), wanted);
    }

    #[test]
    fn a_kept_plan_of_several_runs_names_each_of_them() {
        let plan = "state=sewn; paper=A,thread=f,sections=2,sheets=4; paper=B,thread=f,sections=3,sheets=2";
        let wanted = "state=sewn run=paper=A,thread=f,sections=2,sheets=4 \
                      run=paper=B,thread=f,sections=3,sheets=2";
        assert_eq!(said(plan, None), wanted);
    }

    #[test]
    fn a_plan_in_words_of_its_own_has_no_options() {
        assert!(options("state=knocked; as we always do", None).is_none());
        assert!(options("state=knocked", None).is_none());
    }
}
