//! Each reader of outside input as a function of bytes. The tests replay the corpus with it, and
//! the fuzzing bench uses it too.
//!
//! A target holds the reader to its promises. A refusal says where in the input, in printable words
//! of limited length. What is accepted reads back. [`run`] checks that it does not panic, hang or
//! fill the memory.

use std::fmt::Display;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::str::FromStr;
use std::sync::{LazyLock, OnceLock};
use std::time::{Duration, Instant};
use swellbook::book::{
    Book, BookError, Column, EntryKind, Kind, SheetOptions, audit, column_tables, pool_text,
    read_gauge_sheet, read_plan_file, read_pool_file, read_sheet, sheet_columns, summary_text,
};
use swellbook::jobs::export::answer_summary::read_summary;
use swellbook::trade::{
    Ends, Guards, Hardness, KeptPlan, LeftOver, Material, Name, Pairs, State, SwellQuantiles,
    ThreadCount, TrialKind, Wanted, parse_day, parse_on, parts, quoted_value,
};
use swellbook::units::{
    LengthUnit, parse_decimal, parse_gauge_line, parse_length, parse_length_list, parse_range,
};

/// The result of reading: the refusals, or a few words about what was read. Inputs with the same
/// outcome take more or less the same path through the program.
pub type Outcome = Vec<String>;

#[derive(Clone, Copy)]
pub struct Target {
    /// Its name, and its folder in the corpus.
    pub name: &'static str,
    /// How often it is fuzzed relative to the others: small texts are quick.
    pub share: u64,
    reads: Reads,
    /// The columns of its table, if it reads a table of ours.
    columns: &'static [Column],
}

#[derive(Clone, Copy)]
enum Reads {
    Text(fn(&[u8]) -> Outcome),
    /// A file of a book.
    File(&'static str),
}

impl Target {
    const fn new(name: &'static str, share: u64, reads: Reads) -> Self {
        Self { name, share, reads, columns: &[] }
    }

    fn read(&self, bytes: &[u8]) -> Outcome {
        match self.reads {
            Reads::Text(read) => read(bytes),
            Reads::File(name) => book_file(name, bytes),
        }
    }

    /// A table with all its columns, each with the example of the column.
    pub fn example(&self) -> Option<Vec<u8>> {
        let line = |cell: fn(&Column) -> &'static str| {
            self.columns.iter().map(cell).collect::<Vec<_>>().join(",") + "\n"
        };
        let text = line(|column| column.name) + &line(|column| column.example);
        (!self.columns.is_empty()).then(|| text.into_bytes())
    }

    /// The words with a meaning in its columns: names, examples, and the words that a column takes.
    pub fn words(&self) -> Vec<&'static str> {
        let of = |column: &Column| {
            let taken = if let Kind::Words(words) = column.kind { words } else { "" };
            [column.name, column.example].into_iter().chain(taken.split(", ")).collect::<Vec<_>>()
        };
        self.columns.iter().flat_map(of).filter(|word| !word.is_empty()).collect()
    }
}

/// Every reader. The files of a book are those with a table of columns.
pub static TARGETS: LazyLock<Vec<Target>> = LazyLock::new(|| {
    let mut all = vec![
        Target::new("units", 52, Reads::Text(units)),
        Target { columns: sheet_columns(), ..Target::new("sheet", 12, Reads::Text(sheet)) },
        Target::new("plan", 5, Reads::Text(plan)),
        Target::new("settings", 2, Reads::File("book.toml")),
        Target::new("gauge", 11, Reads::Text(gauge)),
        Target::new("summary", 3, Reads::Text(summary)),
        Target::new("pool", 2, Reads::Text(pool)),
    ];
    all.extend(column_tables().into_iter().map(|(file, columns, _)| {
        let name = file.strip_suffix(".csv").expect("a table");
        Target { columns, ..Target::new(name, 1, Reads::File(file)) }
    }));
    all
});

/// The longest that any input may take: a thousand times what most inputs take.
const PATIENCE: Duration = Duration::from_secs(2);
/// The memory in bytes that a reader may take for any input: the other files of the book, two
/// hundred faults, the tables of their columns, and the readers' buffers.
pub const ALLOWANCE: u64 = 256 * 1024;
/// The memory that it may take in addition, as a multiple of the input.
pub const TIMES: u64 = 10;
/// The memory in bytes that reading TOML may take. The library keeps up to 134 bytes for each byte
/// of a key with many parts, and 234 for each byte of a text of errors. The largest files that are
/// read have 32 KiB.
const TOML_ALLOWANCE: u64 = 8 * 1024 * 1024;

/// The outcome and the cost of a run.
#[derive(Clone, Debug, Default)]
pub struct Taken {
    pub outcome: Outcome,
    /// The most memory in use at one time, in bytes.
    pub peak: u64,
}

/// Gives `bytes` to a target and measures the memory it takes.
pub fn measure(target: &Target, bytes: &[u8]) -> Taken {
    base();
    let mut result = Ok(Outcome::default());
    // The counting must finish even if the reader panics.
    let memory = allocation_counter::measure(|| {
        result = catch_unwind(AssertUnwindSafe(|| target.read(bytes)));
    });
    let outcome = result.unwrap_or_else(|panic| resume_unwind(panic));
    Taken { outcome, peak: memory.bytes_max }
}

/// Gives `bytes` to a target and checks that time and memory are bounded.
pub fn run(target: &Target, bytes: &[u8]) -> Taken {
    let start = Instant::now();
    let taken = measure(target, bytes);
    let (peak, length) = (taken.peak, bytes.len());
    let is_toml = matches!(target.name, "plan" | "pool" | "settings");
    let allowance = if is_toml { TOML_ALLOWANCE } else { ALLOWANCE };
    let bound = TIMES * length as u64 + allowance;
    assert!(peak <= bound, "{}: {peak} bytes of memory for {length} of input", target.name);
    assert!(start.elapsed() < PATIENCE, "{}: {:?}", target.name, start.elapsed());
    taken
}

const PAPERS: &[u8] =
    b"paper,grammage_gsm,caliper_mm,hardness,note\nbond 80,80,0.1,hard,\nlaid,,0.155,soft,\n";
const THREADS: &[u8] =
    b"thread,material,count,laid_mm,note\nlinen 25,linen,lea 25/3,,\nsilk,silk,,0.3,\n";
const TRIALS: &[u8] =
    b"trial,date,kind,paper,thread,sections,sheets,on,ends,boned,guards_mm,hand,note\n\
T1,2026-01-05,block,bond 80,linen 25,10,4,1,0,no,0,,\nT2,,block,laid,linen 25,6,3,1,0,yes,0,Ann,\n";
const READINGS: &[u8] = b"trial,state,place,spine_mm,fore_edge_mm,taken,note\n\
T1,sewn,1,12.5,8.2,,\nT1,sewn,2,12.6,8.2,,\nT1,knocked,head,10.5,8.1,,\nT1,sewn,3,12.4,8.1,,\n";
const STRUCK: &[u8] = b"what,id,reason,date\nreading,T1/sewn/3,slip,2026-01-06\n";

/// A small book with one file replaced.
fn book(name: &str, bytes: &[u8]) -> Result<Book, BookError> {
    let mut files = [
        ("papers.csv", PAPERS),
        ("threads.csv", THREADS),
        ("trials.csv", TRIALS),
        ("readings.csv", READINGS),
        ("struck.csv", STRUCK),
        (name, bytes),
    ];
    if let Some(own) = files[..5].iter_mut().find(|(other, _)| *other == name) {
        own.1 = bytes;
    }
    Book::from_bytes(&files)
}

/// The book into which sheets are read.
fn base() -> &'static Book {
    static BASE: OnceLock<Book> = OnceLock::new();
    BASE.get_or_init(|| book("targets.csv", b"target,low_percent,high_percent\n").expect("sound"))
}

fn most_rows(bytes: &[u8]) -> usize {
    1 + bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count()
}

/// A message that can be shown: it is not too long, and does nothing to the terminal.
fn check_message(text: &str) {
    assert!(!text.is_empty() && text.chars().count() <= 1500, "{} characters", text.len());
    assert!(!text.contains(char::is_control), "control characters in {text:?}");
    assert!(!text.contains(['\u{202e}', '\u{2066}', '\u{200b}']), "unseen characters in {text:?}");
}

/// The messages of a refusal. Each names its file, and a row that the file has.
fn refused(error: &BookError, name: &str, bytes: &[u8]) -> Outcome {
    let BookError::Faults { faults } = error else {
        check_message(&error.to_string());
        return vec![error.to_string()];
    };
    assert!(!faults.is_empty() && faults.len() <= 7 * 201);
    let of = |fault: &swellbook::book::Fault| {
        check_message(&fault.to_string());
        let place = &fault.place;
        let rows = if place.file == name { most_rows(bytes) } else { 5 };
        assert!(place.row.is_none_or(|row| (1..=rows).contains(&row)), "{fault}");
        fault.message.clone()
    };
    faults.iter().map(of).collect()
}

fn sheet(bytes: &[u8]) -> Outcome {
    let name = "sheet.csv";
    let sheet = match read_sheet(bytes, name, &SheetOptions::default()) {
        Ok(sheet) => sheet,
        Err(error) => return refused(&error, name, bytes),
    };
    assert!(!sheet.is_empty() && sheet.len() < most_rows(bytes));
    match base().plan_import(&sheet) {
        Ok(plan) => {
            plan.notes.iter().for_each(|note| check_message(&note.to_string()));
            // Every reading is new, there already, or struck.
            let read = plan.entries.readings.len() + plan.already_there;
            assert!(read <= sheet.len(), "{read} readings of {} rows", sheet.len());
            vec![format!("{:?} {}", plan.entries.written(), plan.notes.len())]
        }
        Err(error) => refused(&error, name, bytes),
    }
}

fn book_file(name: &str, bytes: &[u8]) -> Outcome {
    match book(name, bytes) {
        Ok(book) => {
            let found = audit(&book, jiff::civil::date(2026, 3, 1));
            let texts: Vec<String> = found.iter().map(ToString::to_string).collect();
            texts.iter().for_each(|text| check_message(text));
            texts
        }
        Err(error) => refused(&error, name, bytes),
    }
}

fn plan(bytes: &[u8]) -> Outcome {
    match read_plan_file(bytes, "plan.toml") {
        Ok(plan) => {
            assert!(!plan.runs.is_empty());
            let tables = std::iter::once(&plan.whole).chain(&plan.runs);
            tables.map(|table| format!("{:?}", table.words.keys())).collect()
        }
        Err(error) => refused(&error, "plan.toml", bytes),
    }
}

fn pool(bytes: &[u8]) -> Outcome {
    match read_pool_file(bytes, "pool.toml") {
        Ok(pool) => {
            let again = read_pool_file(pool_text(&pool).as_bytes(), "pool.toml");
            // Written with all its digits, it may be larger than what it was read from.
            assert!(again.map_or(bytes.len() > 1024, |again| again == pool), "{pool:?}");
            vec![format!("{} beliefs, {} spreads", pool.beliefs.len(), pool.spreads.len())]
        }
        Err(error) => refused(&error, "pool.toml", bytes),
    }
}

fn gauge(bytes: &[u8]) -> Outcome {
    match read_gauge_sheet(bytes, "gauge.csv", LengthUnit::Millimetre) {
        Ok(sheet) => {
            assert!(!sheet.rows.is_empty() && sheet.rows.len() < most_rows(bytes));
            sheet.notices.iter().for_each(|notice| check_message(&notice.to_string()));
            vec![format!("{} notices", sheet.notices.len())]
        }
        Err(error) => refused(&error, "gauge.csv", bytes),
    }
}

fn summary(bytes: &[u8]) -> Outcome {
    let name = "summary.json";
    match read_summary(bytes, name) {
        Ok((file, learnt)) => {
            let text = summary_text(&file);
            let again = read_summary(text.as_bytes(), name).expect("what was written is read");
            assert_eq!(again, (file.clone(), learnt));
            vec![format!("{:?}", file.counts.by_state)]
        }
        Err(error) => refused(&error, name, bytes),
    }
}

/// Parses the text as a `T`. What was parsed must parse again from how it is shown.
fn word<T>(text: &str, outcome: &mut Outcome)
where
    T: FromStr + Display,
    T::Err: Display,
{
    match text.parse::<T>() {
        Ok(value) => {
            let shown = value.to_string();
            // The shown value may be rounded, but then it must stay so.
            let again = shown.parse::<T>().map(|value| value.to_string());
            assert_eq!(again.ok(), Some(shown), "from {text:?}");
        }
        Err(error) => outcome.push(checked(&error)),
    }
}

fn checked(error: &impl Display) -> String {
    let message = error.to_string();
    check_message(&message);
    message
}

/// Every small grammar of the bench: numbers, lengths, lines of a gauge, words of the trade.
fn units(bytes: &[u8]) -> Outcome {
    let mut outcome = Outcome::new();
    match parse_gauge_line(bytes, LengthUnit::Inch) {
        Ok(readings) => assert!(readings.iter().all(|reading| reading.value.mm().is_finite())),
        Err(error) => outcome.push(checked(&error)),
    }
    let Ok(text) = std::str::from_utf8(bytes) else { return outcome };
    numbers(text, &mut outcome);
    lengths(text, &mut outcome);
    word::<LengthUnit>(text, &mut outcome);
    word::<Hardness>(text, &mut outcome);
    word::<State>(text, &mut outcome);
    word::<Material>(text, &mut outcome);
    word::<ThreadCount>(text, &mut outcome);
    word::<SwellQuantiles>(text, &mut outcome);
    word::<TrialKind>(text, &mut outcome);
    word::<Name>(text, &mut outcome);
    word::<EntryKind>(text, &mut outcome);
    refusal(text.parse::<LeftOver>(), &mut outcome);
    refusal(parse_range(text), &mut outcome);
    refusal(parse_on(text), &mut outcome);
    match text.parse::<Ends>() {
        Ok(ends) => assert_eq!(ends.to_string().parse(), Ok(ends), "from {text:?}"),
        Err(error) => outcome.push(checked(&error)),
    }
    match parse_day(text, None) {
        Ok(day) => assert_eq!(parse_day(&day.to_string(), None), Ok(day), "from {text:?}"),
        Err(error) => outcome.push(checked(&error)),
    }
    refusal(text.parse::<Wanted>(), &mut outcome);
    refusal(Guards::parse(text, LengthUnit::Millimetre), &mut outcome);
    match text.parse::<KeptPlan>() {
        Ok(plan) => assert_eq!(plan.text().parse::<KeptPlan>().ok(), Some(plan)),
        Err(error) => outcome.push(checked(&error)),
    }
    refusal(Pairs::parse(text, &["paper", "thread", "sheets", "state"]), &mut outcome);
    refusal(parts(text, ';'), &mut outcome);
    quoted(text);
    outcome
}

fn refusal<T, E: Display>(result: Result<T, E>, outcome: &mut Outcome) {
    outcome.extend(result.err().map(|error| checked(&error)));
}

fn numbers(text: &str, outcome: &mut Outcome) {
    match parse_decimal(text) {
        Ok(number) => {
            let shown = number.to_string();
            // Longer numbers are refused: nobody types them.
            if shown.trim_start_matches('-').len() <= 32 {
                assert_eq!(parse_decimal(&shown), Ok(number), "from {text:?}");
            }
        }
        Err(error) => outcome.push(checked(&error)),
    }
}

fn lengths(text: &str, outcome: &mut Outcome) {
    let unit = LengthUnit::Thou;
    match parse_length(text, unit) {
        Ok(length) => {
            let shown = length.to_string();
            if shown.trim_start_matches('-').len() <= 32 {
                assert_eq!(parse_length(&shown, unit), Ok(length), "from {text:?}");
            }
        }
        Err(error) => outcome.push(checked(&error)),
    }
    match parse_length_list(text, unit) {
        Ok(list) => assert!(list.len() <= 1 + text.matches([',', ';']).count()),
        Err(error) => outcome.push(checked(&error)),
    }
}

/// Any text comes back from its quotes in a list of pairs. Very long lists are not read.
fn quoted(text: &str) {
    let list = format!("sheets=3,paper={}", quoted_value(text));
    if list.len() > 8192 {
        return;
    }
    let pairs = Pairs::parse(&list, &["paper", "sheets"]);
    assert_eq!(pairs.as_ref().ok().and_then(|pairs| pairs.get("paper")), Some(text), "{list:?}");
}
