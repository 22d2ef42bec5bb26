//! The stock: papers, threads and targets, and what the trials show about each.

use super::answer_stock::{Taught, counted, taught};
use super::answer_struck::{Struck, struck};
use super::command_starting::add_starting;
use super::page_log::{Rows, rows};
use super::page_where::restores;
use super::text::struck_entry_line;
use super::text_taught::{factor_words, thread_words};
use crate::book::{Book, EntryKind, Named};
use crate::jobs::desk::Desk;
use crate::jobs::record::answer_changed::Factor;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::form_page::Seal;
use crate::page::route::{Answer, Content};
use crate::page::strip::{Scale, Strip};
use crate::page::turned::{MISSING, Turned};
use crate::terminal::number::{fine_length, length, plural, rounded};
use crate::terminal::words::capital;
use crate::trade::{Paper, Target, Thread, Trial, starting_threads};
use askama::Template;

#[derive(Template)]
#[template(path = "bench/stock.html")]
struct View {
    papers: Vec<Item>,
    drawn: bool,
    threads: Vec<Item>,
    starting: Option<Starting>,
    targets: Vec<Item>,
    /// What was struck, and the address that restores it, if that is possible.
    struck: Vec<(String, Option<String>)>,
    /// Why the page cannot show what the trials taught.
    untaught: Option<String>,
    writes: bool,
}

/// A paper or a thread with the trials made with it.
#[derive(Template)]
#[template(path = "bench/stock_one.html")]
struct OneView<'b> {
    item: Item,
    table: Rows<'b>,
    writes: bool,
}

struct Item {
    name: String,
    /// The address of its own page.
    path: Option<String>,
    figure: String,
    strip: Option<Strip>,
    words: String,
    correct: String,
    strike: String,
}

/// The common threads, offered to a book without any.
struct Starting {
    seal: Seal,
    /// Each with its diameter.
    threads: Vec<(String, String)>,
    fault: Option<String>,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    type Items = fn(&Book, &Taught) -> Vec<Item>;
    let (paper, thread) = (form.get("paper"), form.get("thread"));
    let Some(name) = paper.or(thread) else { return Ok(page(desk, None)?.into()) };
    let items: Items = if paper.is_some() { papers } else { threads };
    let of = |trial: &Trial| match paper {
        Some(_) => trial.paper.as_str() == name,
        None => trial.thread.as_str() == name,
    };
    let trials = book.trials().iter().rev().filter(|trial| of(trial));
    let caption = "Trials made with it, latest first".to_owned();
    let trials = rows(&book, &trials.collect::<Vec<_>>(), caption);
    one(desk, items(&book, &taught_by(desk)?.0), name, trials)
}

/// Adds the common threads that were ticked.
pub(crate) fn send(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let names: Vec<&str> = form.all("thread").collect();
    match desk.write(form, |session| add_starting(&names, session)) {
        Ok(number) => Ok(Answer::said("/stock", &number)),
        Err(turned) => {
            let fault = turned.faults()?.into_iter().next().map(|fault| match fault.message {
                message if message == MISSING => "Tick the threads that you have.".to_owned(),
                message => message,
            });
            Ok(page(desk, fault)?.refused().into())
        }
    }
}

fn page(desk: &Desk, fault: Option<String>) -> Result<Content, Turned> {
    let book = desk.book()?;
    let (taught, untaught) = taught_by(desk)?;
    let papers = papers(&book, &taught);
    let writes = !desk.is_read_only();
    let offers = writes && book.threads().is_empty();
    let view = View {
        drawn: papers.iter().any(|paper| paper.strip.is_some()),
        papers,
        threads: threads(&book, &taught),
        targets: book.targets().iter().map(target).collect(),
        struck: all_struck(&book),
        untaught,
        starting: offers.then(|| starting(desk, &book, fault)),
        writes,
    };
    let counts = [
        plural(book.papers().len(), "paper"),
        plural(book.threads().len(), "thread"),
        plural(book.targets().len(), "target"),
    ];
    Ok(Content::of("Stock", &view).beside(counts.join(", ")))
}

/// What the trials taught, or else why that is unknown.
fn taught_by(desk: &Desk) -> Result<(Taught, Option<String>), Turned> {
    match desk.kept() {
        Ok(kept) => Ok((taught(&kept.bench), None)),
        Err(Turned::Missing(why)) => Ok((Taught::default(), Some(why))),
        Err(other) => Err(other),
    }
}

fn starting(desk: &Desk, book: &Book, fault: Option<String>) -> Starting {
    let thread = |it: Thread| (it.name.to_string(), length(it.diameter(), book.config()));
    let threads = starting_threads().into_iter().map(thread).collect();
    Starting { seal: desk.seal(), threads, fault }
}

fn one(desk: &Desk, items: Vec<Item>, name: &str, table: Rows<'_>) -> Result<Answer, Turned> {
    let item = items.into_iter().find(|item| item.name == name);
    let missing = || Turned::Missing("This is not in the stock.".to_owned());
    let mut item = item.ok_or_else(missing)?;
    item.strip.iter_mut().for_each(|strip| strip.ticks = true);
    let (title, beside) = (item.name.clone(), item.figure.clone());
    let view = OneView { item, table, writes: !desk.is_read_only() };
    Ok(Content::of(title, &view).beside(beside).into())
}

impl Item {
    /// An entry that has a page of its own, without a strip.
    fn of<T: Named>(entry: &T, figure: String, words: String) -> Self {
        let (kind, name) = (T::KIND.word(), entry.name().as_str());
        Self {
            name: name.to_owned(),
            path: Some(address("/stock", &[(kind, Some(name))])),
            figure,
            strip: None,
            words,
            correct: address("/correct", &[("kind", Some(kind)), ("was", Some(name))]),
            strike: address("/strike", &[("kind", Some(kind)), ("ids", Some(name))]),
        }
    }
}

fn papers(book: &Book, taught: &Taught) -> Vec<Item> {
    let factors = taught.papers.values();
    let ends = factors.flat_map(|it| [it.factor.q05, it.factor.q95, it.nominal]);
    let scale = Scale::over(ends, "");
    let count = book.papers().len();
    let item = |(index, paper): (usize, &Paper)| {
        let factor = taught.papers.get(&paper.name);
        let figure = format!("{}, {}", fine_length(paper.caliper(), book.config()), paper.hardness);
        let strip = factor.map(|factor| strip(paper, factor, &scale, index + 1 == count));
        let taught = factor.map(|factor| factor_words(factor, book.config()));
        let grammage = paper.grammage.map(|it| format!("{it}."));
        let note = (!paper.note.is_empty()).then(|| paper.note.clone());
        let words = taught.into_iter().chain(grammage).chain(note).collect::<Vec<_>>().join(" ");
        Item { strip, ..Item::of(paper, figure, words) }
    };
    book.papers().iter().enumerate().map(item).collect()
}

fn strip(paper: &Paper, of: &Factor, scale: &Scale, last: bool) -> Strip {
    let Factor { factor, nominal, .. } = of;
    let title = format!(
        "{} knocked down: {}, 90 % range {} to {}; nominal figure {}",
        paper.name,
        rounded(factor.q50, 2),
        rounded(factor.q05, 2),
        rounded(factor.q95, 2),
        rounded(*nominal, 2)
    );
    let strip = Strip::new(title, scale, [factor.q05, factor.q50, factor.q95]);
    Strip { nominal: Some(*nominal), ticks: last, ..strip }
}

fn threads(book: &Book, taught: &Taught) -> Vec<Item> {
    let counts = counted(book, |trial| &trial.thread);
    let item = |thread: &Thread| {
        let source = if thread.laid().is_some() { "measured" } else { "from its count" };
        let figure = format!("{}, {source}", fine_length(thread.diameter(), book.config()));
        let made = match thread.count() {
            Some(count) => format!("{}, {count}.", thread.material),
            None => format!("{}.", thread.material),
        };
        let count = counts.get(&thread.name).copied().unwrap_or_default();
        let effect = taught.threads.get(&thread.name).filter(|_| count > 0);
        let shows = effect.map(|effect| thread_words(effect, count));
        let shows = shows.or_else(|| (count == 0).then(|| "No trials yet.".to_owned()));
        let note = (!thread.note.is_empty()).then(|| thread.note.clone());
        let words = [made].into_iter().chain(shows).chain(note).collect::<Vec<_>>().join(" ");
        Item::of(thread, figure, words)
    };
    book.threads().iter().map(item).collect()
}

fn target(target: &Target) -> Item {
    let figure = format!("{}–{} %", target.low_percent(), target.high_percent());
    Item { path: None, ..Item::of(target, figure, target.note.clone()) }
}

fn all_struck(book: &Book) -> Vec<(String, Option<String>)> {
    let all = struck(book);
    let words = |it: &Struck| {
        let (kind, line) = (capital(it.kind.word()), struck_entry_line(it, book.config()));
        let why = it.strike.as_ref().map(|it| format!(" Struck on {}: {}", it.date, it.reason));
        format!("{kind} {line}.{}", why.unwrap_or_default())
    };
    let lines = |kind: EntryKind| -> Vec<(String, Option<String>)> {
        let own = all.iter().filter(|it| it.kind == kind);
        own.clone().map(words).zip(restores(book, kind, own, None)).collect()
    };
    [EntryKind::Paper, EntryKind::Thread, EntryKind::Target].map(lines).concat()
}
