use std::collections::HashMap;
use std::hash::Hash;

/// An entry, by the index of its first row in the file.
pub(in crate::book) type First = usize;

/// The entries of a kind at one point of the changes, by name or another key.
pub(in crate::book) struct ByName<K> {
    pub(in crate::book) live: HashMap<K, First>,
    /// Of several with one name, the last.
    struck: HashMap<K, First>,
    /// The same without those that only got another name.
    ended: HashMap<K, First>,
}

impl<K: Copy + Eq + Hash> ByName<K> {
    pub(in crate::book) fn new() -> Self {
        Self { live: HashMap::new(), struck: HashMap::new(), ended: HashMap::new() }
    }

    /// Takes in what a change did. An entry that it struck and added again is the same one. So is
    /// the only one that it added, under another name than the only one that it struck.
    pub(in crate::book) fn take(&mut self, struck: &[K], added: &[(First, K)], brings_back: bool) {
        let gone: HashMap<K, First> =
            struck.iter().filter_map(|id| self.live.remove_entry(id)).collect();
        let renamed = gone.values().next().filter(|_| struck.len() == 1 && added.len() == 1);
        for (row, name) in added {
            let back = self.ended.get(name).or(self.struck.get(name)).filter(|_| brings_back);
            let first = gone.get(name).or(renamed).or(back).copied();
            self.live.insert(*name, first.unwrap_or(*row));
        }
        if renamed.is_none() {
            let is_again = |name: &K| added.iter().any(|(_, again)| again == name);
            self.ended.extend(gone.iter().filter(|(name, _)| !is_again(name)));
        }
        self.struck.extend(gone);
    }

    /// What the entries that count are now, by the names that they had before; `now` has what each
    /// name of them means. A name is left out if it is in use, or if another entry with it was
    /// struck since.
    pub(in crate::book) fn called_now<V: Copy>(mut self, now: &[(K, V)]) -> HashMap<K, V> {
        now.iter().for_each(|(name, _)| _ = self.struck.remove(name));
        let of_first: HashMap<First, V> =
            now.iter().filter_map(|(name, now)| Some((*self.live.get(name)?, *now))).collect();
        let before = self.struck.into_iter();
        before.filter_map(|(before, first)| Some((before, *of_first.get(&first)?))).collect()
    }
}
