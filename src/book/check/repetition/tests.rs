use super::*;
use crate::trade::State;
use crate::units::Millimetres;

/// One reading per letter, with a spine and fore-edge of its own. A small letter has no fore-edge.
fn readings(letters: &str) -> Vec<Reading> {
    let reading = |(place, letter): (usize, char)| {
        let number = f64::from(u32::from(letter.to_ascii_uppercase()) - u32::from('A'));
        let (trial, place) = ("T1".parse().unwrap(), (place + 1).to_string().parse().unwrap());
        let fore_edge = Millimetres::new(8.0 + number / 10.0);
        let spine = Millimetres::new(11.0 + number / 10.0);
        let fore_edge = fore_edge.filter(|_| letter.is_uppercase());
        Reading::new(trial, State::Sewn, place, spine, fore_edge).unwrap()
    };
    letters.chars().enumerate().map(reading).collect()
}

/// What is found, and whether it may be chance.
fn all(letters: &str, step_mm: f64) -> Vec<(String, bool)> {
    let readings = readings(letters);
    let rows: Vec<&Reading> = readings.iter().collect();
    let found = repetitions(&rows, step_mm).into_iter();
    found.map(|(_, found)| (found.to_string(), found.perhaps_chance)).collect()
}

fn found(letters: &str, step_mm: f64) -> Vec<String> {
    let telling = all(letters, step_mm).into_iter().filter(|(_, perhaps_chance)| !perhaps_chance);
    telling.map(|(text, _)| text).collect()
}

#[test]
fn a_run_that_is_there_twice_is_found_whole() {
    let two = "places 3, 4 repeat places 1, 2 reading for reading";
    for letters in ["ABAB", "ABABC"] {
        assert_eq!(found(letters, 0.01), [two], "{letters}");
    }
    for (letters, start) in [
        ("XABCABC", "places 5, 6, 7 repeat places 2, 3, 4 "),
        ("ABCDXBCD", "places 6, 7, 8 repeat places 2, 3, 4 "),
        ("ABACABAC", "places 5, 6, 7, 8 repeat places 1, 2, 3, 4 "),
        ("abcabc", "places 4, 5, 6 repeat places 1, 2, 3 "),
        ("AABAAB", "places 4, 5, 6 repeat places 1, 2, 3 "),
    ] {
        let found = found(letters, 0.01);
        assert!(found.len() == 1 && found[0].starts_with(start), "{letters}: {found:?}");
    }
    assert_eq!(found("ABABAB", 0.01).len(), 2);
    let long: String = ('A'..='Z').chain('A'..='Z').collect();
    assert_eq!(found(&long, 0.01), ["places 27 to 52 repeat places 1 to 26 reading for reading"]);
}

#[test]
fn what_chance_makes_is_not_called_a_repetition() {
    // One reading equal at both edges, two of one edge, and a block that reads the same all over.
    for letters in ["", "A", "ABCA", "abab", "AAAA", "ABBA", "ABCBA", "AABBCC", "ABXAYB"] {
        assert!(found(letters, 0.01).is_empty(), "{letters}");
    }
    // The finer the gauge, the less is chance.
    assert_eq!(found("AA", 0.001), ["place 2 repeats place 1 at every edge measured"]);
    assert!(found("ABAB", 0.05).is_empty() && found("ABCABC", 0.05).len() == 1);
}

#[test]
fn what_directly_follows_its_like_may_be_chance() {
    for (letters, places) in
        [("AA", "place 2 repeats place 1 "), ("abab", "places 3, 4 repeat places 1, 2 ")]
    {
        let found = all(letters, 0.01);
        let [(text, true)] = &found[..] else { panic!("{letters}: {found:?}") };
        assert!(text.starts_with(places), "{letters}: {text}");
    }
    assert!(matches!(all("ABAB", 0.01)[..], [(_, false)]));
    for letters in ["ABCA", "aa", "AAA", "AAAA", "ABCBA", "ABXAYB", "abcab"] {
        assert!(all(letters, 0.01).is_empty(), "{letters}");
    }
}

/// Five places of an even block, and of one with the usual spread.
#[test]
fn an_even_block_has_more_by_chance() {
    let block = |letters: &str, step_mm: f64| -> Vec<Reading> {
        let near = |length: Option<Millimetres>, middle: f64| {
            let far = (length.unwrap().mm() - middle) * 10.0;
            Millimetres::new(middle + far * step_mm)
        };
        let moved = |reading: &Reading| {
            let (trial, place) = (reading.trial.clone(), reading.place.clone());
            let (spine, fore_edge) = (near(reading.spine(), 11.0), near(reading.fore_edge(), 8.0));
            Reading::new(trial, State::Sewn, place, spine, fore_edge).unwrap()
        };
        readings(letters).iter().map(moved).collect()
    };
    let telling = |letters, step_mm| {
        let readings = block(letters, step_mm);
        let found = repetitions(&readings.iter().collect::<Vec<_>>(), 0.01);
        found.iter().any(|(_, found)| !found.perhaps_chance)
    };
    assert!(!telling("BCABC", 0.01) && telling("BCABC", 0.06));
    // Readings that occur twice do not make a block look more even.
    assert!(telling("ABAB", 0.01));
}

#[test]
fn another_day_is_another_measurement() {
    let mut all = readings("ABAB");
    for reading in &mut all[2..] {
        reading.taken = "2026-03-02".to_owned().into();
    }
    assert!(repetitions(&all.iter().collect::<Vec<_>>(), 0.01).is_empty());
}
