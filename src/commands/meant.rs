//! Guesses the command or option that a binder meant: first from words of the bench, then from
//! typing slips. To teach it a word, add the word to a row of a table.

use crate::terminal::suggest::closest;
use clap::{Arg, Command};

/// Advice for words that people try: the command in front of the word, which is empty for
/// `swellbook` itself, the words, and what to use: a command, or a whole sentence with backticks.
const COMMANDS: &[(&str, &[&str], &str)] = &[
    (
        "",
        &["list", "ls", "view", "status", "info", "contents"],
        "`swellbook show` shows what the book holds, and `swellbook report` writes all of it on one page",
    ),
    ("", &["papers"], "show papers"),
    ("", &["threads"], "show threads"),
    ("", &["targets"], "show targets"),
    ("", &["trials"], "show trials"),
    ("", &["forecasts"], "show forecasts"),
    ("", &["struck"], "show --struck"),
    (
        "",
        &["manual", "docs", "documentation", "usage", "commands"],
        "`swellbook --help` lists the commands, and --help after a command explains it",
    ),
    (
        "",
        &["delete", "remove", "rm", "erase", "drop"],
        "`swellbook strike` takes an entry out of use, and `swellbook undo` takes back the last change",
    ),
    ("", &["cancel", "revert", "back", "rollback"], "undo"),
    ("", &["redo"], "undo --redo"),
    ("", &["unstrike", "recover"], "restore"),
    ("", &["history", "changes"], "undo --list"),
    ("", &["edit", "change", "fix", "update", "rename", "modify", "amend"], "correct"),
    ("", &["add", "enter", "insert", "log"], "record"),
    ("", &["paper", "stock"], "record paper"),
    ("", &["thread", "yarn"], "record thread"),
    ("", &["target", "goal"], "record target"),
    ("", &["trial", "block", "sewing"], "record trial"),
    ("", &["readings", "reading", "measure", "measurement"], "record readings"),
    ("", &["check", "verify", "validate", "doctor", "errors"], "audit"),
    ("", &["forecast", "estimate", "swell", "calculate", "compute", "calc", "expect"], "predict"),
    ("", &["learn", "calibrate", "train", "model", "factor", "factors"], "fit"),
    ("", &["belief", "prior", "priors", "assumptions"], "beliefs"),
    ("", &["merge", "combine", "together", "meta"], "pool"),
    ("", &["compare"], "fit --compare"),
    ("", &["caliper", "repeatability", "precision"], "gauge"),
    ("", &["graph", "plot", "draw", "picture", "figure"], "chart"),
    ("", &["card", "page", "print", "pdf", "html"], "report"),
    ("", &["guide", "how-to", "howto"], "report --guide"),
    ("", &["blank", "log-sheet", "form"], "report --blank"),
    ("", &["choose", "search", "design", "optimise", "optimize"], "plan"),
    ("", &["suggest", "advise", "advice", "todo"], "next"),
    ("", &["halfway", "half-way", "partway", "part-way", "mid-way"], "midway"),
    ("", &["new", "create", "start", "setup"], "init"),
    ("", &["load", "read", "upload", "spreadsheet"], "import"),
    ("", &["dump", "csv"], "export"),
    ("", &["save", "copy", "archive", "tar"], "backup"),
    ("", &["demo", "example", "examples", "tutorial"], "tour"),
    ("", &["version"], "--version"),
    ("", &["completion", "complete", "tab", "shell"], "completions"),
    ("record", &["stock", "sheet"], "record paper"),
    ("record", &["yarn", "cord", "linen"], "record thread"),
    ("record", &["goal", "swell", "range"], "record target"),
    ("record", &["block", "sewing", "book"], "record trial"),
    ("record", &["measure", "measurement", "measurements", "spine"], "record readings"),
    (
        "record",
        &["list", "show"],
        "`swellbook show` shows what the book holds, and `swellbook report` writes all of it on one page",
    ),
    ("chart", &["knocked", "pressed", "blocks"], "chart knockdown"),
    ("chart", &["papers", "fit"], "chart factors"),
    ("chart", &["compare", "predictions"], "chart agreement"),
    ("chart", &["time", "dates", "trend", "control"], "chart history"),
    ("chart", &["ways", "choices", "target"], "chart plan"),
];

/// Options that a command leaves out on purpose, and what to do instead.
const LEFT_OUT: &[(&str, &[&str], &str)] = &[
    (
        "plan",
        &["sections", "signatures"],
        "give --leaves: it works out the sections itself (for a book of known sections, use \
         `swellbook predict`)",
    ),
    ("plan", &["on", "ends"], "it compares all ways to sew (for one way, use `swellbook predict`)"),
    ("backup", &["out", "output", "file"], "name the file without it: `swellbook backup FILE.tar`"),
    ("readings", &["date"], "give --taken, the day of the readings"),
    ("readings", &["paper", "thread"], "it follows from the trial; leave it out"),
];

/// Options by the words that people try. A row applies only to commands that have its option.
const OPTIONS: &[(&str, &[&str])] = &[
    ("paper", &["stock", "papers"]),
    ("thread", &["yarn", "cord", "threads"]),
    ("sections", &["signatures", "signature", "gatherings", "quires", "sigs", "section"]),
    ("leaves", &["leafs", "leaf", "folios"]),
    ("pages", &["page", "sides"]),
    ("sheets", &["sheet", "bifolios", "bifolia", "sheets-per-section", "folios"]),
    ("target", &["goal", "swell", "aim", "want", "wanted", "range"]),
    ("on", &["all-along", "two-on", "three-on", "traverse"]),
    ("spine", &["back", "fold", "folds"]),
    ("fore-edge", &["edge", "front", "opposite"]),
    ("caliper", &["thickness", "leaf-thickness"]),
    ("weight", &["gsm", "basis", "basis-weight", "pounds", "lb"]),
    ("laid", &["diameter", "thickness"]),
    ("count", &["size", "lea", "tex", "number"]),
    ("hardness", &["hard", "soft", "medium"]),
    ("note", &["comment", "remark", "memo"]),
    ("date", &["day", "when"]),
    ("taken", &["day", "when"]),
    ("place", &["where", "location", "position", "at"]),
    ("reason", &["why", "because"]),
    ("state", &["stage"]),
    ("out", &["output", "file", "save"]),
    ("replace", &["force", "overwrite"]),
    ("guards", &["repairs", "tissue", "guarding", "mends"]),
    ("stations", &["tapes", "cords", "supports", "holes"]),
    ("height", &["length", "tall"]),
    ("hand", &["who", "sewer", "binder"]),
    ("round", &["arc", "rounding", "degrees"]),
    ("shoulder", &["joint", "joints"]),
    ("unit", &["inches", "inch", "mm"]),
    ("resolution", &["step"]),
    ("title", &["name"]),
    ("minutes", &["time"]),
    ("no-input", &["batch", "yes", "quiet", "non-interactive"]),
    ("book", &["folder", "dir", "directory"]),
];

/// What to do instead of the unknown command `typed` after `command`; `None` if nothing is close.
pub(super) fn command(command: &Command, typed: &str) -> Option<String> {
    let lower = typed.to_lowercase();
    let place = if command.has_subcommands() { command.get_name() } else { "" };
    let place = if place == "swellbook" { "" } else { place };
    let rows = || COMMANDS.iter().filter(|row| row.0 == place);
    let by_word = |word: &str| match rows().find(|row| row.1.contains(&word))?.2 {
        sentence if sentence.contains('`') => Some(sentence.to_owned()),
        command => Some(format!("use `swellbook {command}`")),
    };
    let by_slip = || near(&lower, &commands(command)).map(|name| format!("did you mean '{name}'?"));
    let words: Vec<&str> = rows().flat_map(|row| row.1).copied().collect();
    by_word(&lower).or_else(by_slip).or_else(|| by_word(closest(&lower, &words)?))
}

/// What to do instead of the unknown option `typed`, without its dashes, of `command`.
pub(super) fn option(command: &Command, typed: &str) -> Option<String> {
    let lower = typed.to_lowercase();
    let is_named = |words: &[&str]| words.contains(&lower.as_str());
    let left_out = LEFT_OUT.iter().find(|row| row.0 == command.get_name() && is_named(row.1));
    if let Some((_, _, advice)) = left_out {
        return Some((*advice).to_owned());
    }
    let known = options(command);
    let by_word = OPTIONS.iter().find(|row| known.contains(&row.0) && is_named(row.1));
    let meant = by_word.map(|row| row.0).or_else(|| near(&lower, &known))?;
    Some(format!("did you mean --{meant}?"))
}

/// The names of its subcommands, without `help`.
pub(super) fn commands(command: &Command) -> Vec<&str> {
    let names = command.get_subcommands().map(Command::get_name);
    names.filter(|name| *name != "help").collect()
}

/// The names of its options, without dashes and without `help`.
pub(super) fn options(command: &Command) -> Vec<&str> {
    command.get_arguments().filter_map(Arg::get_long).filter(|name| *name != "help").collect()
}

/// The name that `typed` begins or misspells.
fn near<'n>(typed: &str, names: &[&'n str]) -> Option<&'n str> {
    /// Fewer letters match too many names.
    const FEWEST: usize = 3;
    let begun: Vec<&str> = names.iter().filter(|name| name.starts_with(typed)).copied().collect();
    match begun[..] {
        [one] if typed.len() >= FEWEST => Some(one),
        _ => closest(typed, names),
    }
}
