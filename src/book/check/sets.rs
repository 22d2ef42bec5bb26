use crate::book::entries::held::by_name;
use crate::book::entries::record::{Located, located, place};
use crate::book::files::names::BookFile;
use crate::book::location::Location;
use crate::book::opened::Book;
use crate::trade::{Edge, Name, Paper, Reading, State, Trial};
use std::collections::HashMap;

/// The readings of one trial in one state, in the order of the file; at least one.
pub(in crate::book) struct Set<'a> {
    pub(in crate::book) trial: &'a Trial,
    pub(in crate::book) paper: Option<&'a Paper>,
    pub(in crate::book) state: State,
    pub(in crate::book) readings: Vec<Located<&'a Reading>>,
}

/// All sets of the book by trial, then in the order of the work.
pub(in crate::book) fn sets<'b>(book: &'b Book) -> Vec<Set<'b>> {
    type InState<'a> = (State, Vec<Located<&'a Reading>>);
    let mut groups: HashMap<&Name, Vec<InState<'_>>> = HashMap::new();
    let (readings, mut rows) = (&book.live.readings, &book.rows.readings[..]);
    // Readings of one set usually follow each other.
    for run in readings.chunk_by(|one, other| one.state == other.state && one.trial == other.trial)
    {
        let (of_run, below) = rows.split_at(run.len());
        let group = groups.entry(&run[0].trial).or_default();
        match group.iter_mut().find(|(state, _)| *state == run[0].state) {
            Some((_, set)) => set.extend(located(run, of_run)),
            None => group.push((run[0].state, located(run, of_run).collect())),
        }
        rows = below;
    }
    let papers = by_name(book.papers());
    let measured =
        book.trials().iter().filter_map(|trial| Some((trial, groups.remove(&trial.name)?)));
    let of_trial = |(trial, mut group): (&'b Trial, Vec<InState<'b>>)| {
        let paper = papers.get(&trial.paper).copied();
        group.sort_by_key(|(state, _)| *state);
        group.into_iter().map(move |(state, readings)| Set { trial, paper, state, readings })
    };
    measured.flat_map(of_trial).collect()
}

pub(in crate::book) fn reading_place(reading: &Located<&Reading>) -> Location {
    place(BookFile::Readings, reading.row)
}

impl Set<'_> {
    /// The location of its first reading.
    pub(in crate::book) fn place(&self) -> Location {
        place(BookFile::Readings, self.readings.first().and_then(|reading| reading.row))
    }

    pub(in crate::book) fn count(&self, edge: Edge) -> usize {
        self.readings.iter().filter(|row| row.value.edge(edge).is_some()).count()
    }
}
