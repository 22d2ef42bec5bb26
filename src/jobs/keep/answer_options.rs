//! Turns a kept forecast into a plan, and a plan into the options of `predict`.

use crate::book::{Book, EntryKind};
use crate::trade::{KeptForecast, Pairs, PlanWords, Said, Target, Wanted, parts, run_text};

/// Keys of a kept plan that hold for the whole block.
const BLOCK: &[&str] =
    &["state", "hand", "guards-mm", "guards", "fore-edge-mm", "round", "shoulder", "aim"];
/// Keys of a run of a kept plan.
const RUN: &[&str] = &[
    "paper", "caliper", "hardness", "thread", "laid", "sections", "sheets", "on", "ends", "boned",
];

/// The plan and target of a kept forecast; `None` for a plan written in free text. A paper or thread
/// that was renamed since has its new name. The target keeps its name only if the book's target of
/// that name still has the same bounds.
pub(crate) fn kept_words(kept: &KeptForecast, book: &Book) -> Option<PlanWords> {
    let all = parts(kept.plan.text(), ';').ok()?;
    let is_run = |part: &&str| Pairs::parse(part, RUN).is_ok();
    let (runs, block): (Vec<&str>, Vec<&str>) = all.into_iter().partition(is_run);
    let (mut whole, mut by_geometry) = (Said::new(), false);
    for part in block {
        let pairs = Pairs::parse(part, BLOCK).ok()?;
        let mut say = |key: &str, known: &'static str, unit: &str| {
            whole.extend(pairs.get(key).map(|value| (known, format!("{value}{unit}"))));
        };
        say("state", "state", "");
        say("hand", "hand", "");
        say("guards-mm", "guards", "mm");
        say("guards", "guards", "");
        say("fore-edge-mm", "fore_edge", "mm");
        say("round", "round", "");
        say("shoulder", "shoulder", "");
        by_geometry |= pairs.get("aim") == Some("round");
    }
    // The bounds that follow from the shape of the spine change with the book.
    let aim = kept.aim.as_ref().filter(|_| !by_geometry);
    whole.extend(aim.map(|aim| ("target", wanted_text(&aim.wanted, book.targets()))));
    let said = |run: &&str| -> Option<Said> {
        let pairs = Pairs::parse(run, RUN).ok()?;
        let word = |key: &&'static str| Some((*key, name_now(key, pairs.get(key)?, book)));
        Some(RUN.iter().filter_map(word).collect())
    };
    PlanWords::new(whole, runs.iter().map(said).collect::<Option<_>>()?).ok()
}

/// The value of `key`, or what the paper or thread of that name is called now.
fn name_now(key: &str, value: &str, book: &Book) -> String {
    let kind = [EntryKind::Paper, EntryKind::Thread].into_iter().find(|kind| kind.word() == key);
    let now = kind.and_then(|kind| book.name_now(kind, value));
    now.map_or_else(|| value.to_owned(), ToString::to_string)
}

fn wanted_text(wanted: &Wanted, targets: &[Target]) -> String {
    let bounds = (wanted.low_percent(), wanted.high_percent());
    let is_same = |target: &&Target| {
        Some(&target.name) == wanted.name()
            && (target.low_percent(), target.high_percent()) == bounds
    };
    let named = targets.iter().find(is_same).map(|target| target.name.to_string());
    named.unwrap_or_else(|| format!("{}..{}", bounds.0, bounds.1))
}

/// The keys of a run that have a field on the bench page.
const FIELDS: [&str; 9] =
    ["paper", "thread", "sections", "leaves", "pages", "sheets", "on", "ends", "boned"];

/// The options of `predict` that describe a plan. Several runs become one `run` option each; so
/// does a single run with a key outside [`FIELDS`], such as the caliper of a new paper.
pub(crate) fn plan_options(words: &PlanWords) -> Vec<(&'static str, String)> {
    let option = |(key, value): &(&'static str, String)| {
        let name = match *key {
            "fore_edge" => "fore-edge",
            "left_over" => "left-over",
            key => key,
        };
        (name, value.clone())
    };
    let whole = words.whole().iter().map(option);
    let runs: Vec<(&'static str, String)> = match words.runs() {
        [run] if run.iter().all(|(key, _)| FIELDS.contains(key)) => run.clone(),
        runs => runs.iter().map(|run| ("run", run_text(run))).collect(),
    };
    whole.chain(runs).collect()
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
        kept_words(&kept, &Book::from_bytes(&[]).unwrap()).map(|words| plan_options(&words))
    }

    fn said(plan: &str, wanted: Option<&str>) -> String {
        let options = options(plan, wanted).unwrap();
        let each = options.iter().map(|(name, value)| format!("{name}={value}"));
        each.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_kept_plan_of_one_run_is_the_options_it_was_predicted_with() {
        let plan = "state=knocked; hand=Anna; guards_mm=0.24; fore_edge_mm=21.4; \
                    paper=\"A, b\",thread=flax,sections=24,sheets=4,on=2,ends=3,boned=yes";
        let wanted = "state=knocked hand=Anna guards=0.24mm fore-edge=21.4mm target=25..35 paper=A, b \
                      thread=flax sections=24 sheets=4 on=2 ends=3 boned=yes";
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
    fn a_kept_plan_says_what_the_book_does_not_hold_and_how_the_guards_come_about() {
        let plan = "state=sewn; guards=\"tissue=0.05 mm,per-section=2\"; \
                    round=90,shoulder=3 mm,aim=round; paper=A,caliper=0.12 mm,hardness=soft,\
                    thread=f,laid=0.5 mm,sections=2,sheets=4";
        let wanted = "state=sewn guards=tissue=0.05 mm,per-section=2 round=90 shoulder=3 mm \
                      run=paper=A,caliper=0.12 mm,hardness=soft,thread=f,laid=0.5 mm,sections=2,\
                      sheets=4";
        assert_eq!(said(plan, Some("25..35")), wanted);
        let beside = plan.replace(",aim=round", "");
        assert!(said(&beside, Some("25..35")).contains("shoulder=3 mm target=25..35"));
    }

    #[test]
    fn a_plan_in_words_of_its_own_has_no_options() {
        assert!(options("state=knocked; as we always do", None).is_none());
        assert!(options("state=knocked", None).is_none());
    }
}
