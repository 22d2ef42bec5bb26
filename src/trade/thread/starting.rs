use super::entry::{Material, Thread};

/// Counts of linen that books are commonly sewn with, in the order of the spools (common practice,
/// no source).
const COUNTS: [&str; 8] = ["12/3", "16/2", "18/3", "18/4", "25/3", "30/3", "35/3", "40/3"];

/// Common linen threads, each with only its count, from which the diameter is computed.
pub fn starting_threads() -> Vec<Thread> {
    let thread = |count: &str| {
        let (name, count) = (format!("linen {count}").parse().ok()?, count.parse().ok());
        let mut thread = Thread::new(name, Material::Linen, count, None).ok()?;
        thread.note = "Common practice, no source; measure yours".to_owned();
        Some(thread)
    };
    COUNTS.into_iter().filter_map(thread).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_common_count_is_a_thread_with_the_diameter_of_its_count() {
        let threads = starting_threads();
        assert_eq!(threads.len(), COUNTS.len());
        for thread in threads {
            assert_eq!(thread.laid(), None);
            assert_eq!(Some(thread.diameter()), thread.diameter_from_count());
            assert!((0.3..0.7).contains(&thread.diameter().mm()), "{}", thread.name);
        }
    }
}
