//! One test binary, because each further binary would link the whole program again. It has one
//! module for each promise, in the folder of its subject. `support/` holds what several share.

mod command_line {
    mod bench_prompt;
    mod commands;
    mod in_process;
    mod installed;
    mod leaving;
    mod midway;
    mod outputs;
    mod pictures;
    mod planned;
    mod pooling;
    mod saved_plans;
    mod shown;
    mod streams;
    mod typed;
    mod units;
    mod usage;
    mod with_books;
}

mod book {
    mod audit;
    pub mod backup;
    mod backup_refused;
    pub mod book_files;
    mod doubted;
    mod failing_calls;
    mod failing_pairs;
    mod flat_sheet;
    mod flat_sheet_out;
    mod full_disk;
    mod in_place;
    mod killed;
    mod large_book;
    mod other_faults;
    mod other_programs;
    mod own_files;
    mod own_headings;
    mod pooled_beliefs;
    mod recorded_twice;
    mod sent_once;
    mod settings_edited;
    mod sheet_again;
    mod sizes;
    mod sorted;
    mod starting_stock;
    mod strike_ids;
    mod summaries;
    mod taken_back;
    mod undoing;
    pub mod workbook_cells;
    pub mod workbooks;
    mod writers;
}

mod model {
    mod beyond;
    pub mod brute_force;
    mod checked;
    mod choices;
    mod choices_order;
    mod compare;
    mod correlated_beliefs;
    mod dense_partway;
    mod directions;
    mod export;
    mod invariances;
    mod left_out;
    mod likelihood;
    mod next_trial;
    mod partway;
    mod pooled;
    mod pooled_hostile;
    mod steady;
    mod tables;
    mod together;
    mod track;
}

mod evidence {
    mod advice;
    mod arguments;
    mod certified;
    mod correlated;
    pub mod coverage;
    mod deviations;
    mod engines;
    mod gauge;
    pub mod joint;
    mod layers;
    mod network;
    mod outside_numbers;
    mod pooled;
    mod published_models;
    pub mod sampler;
    mod simulated_partway;
    mod supply;
}

mod hostile {
    mod corpus;
    mod markup;
    mod names;
    mod readers;
    mod shapes;
    mod targets;
}

mod pages {
    pub mod charts;
    mod in_r_and_python;
    mod json;
    mod page;
    mod paper;
    mod plain_english;
    mod plain_sources;
    pub mod references;
    pub mod texts;
}

// Only Linux: these tests read the memory of a process from `/proc`.
#[cfg(target_os = "linux")]
mod bench_page {
    mod afternoon;
    mod bodies;
    mod crowd;
    mod door;
    mod ending;
    mod files;
    mod forms;
    mod late_forms;
    mod looks;
    mod measuring;
    mod names;
    mod picture;
    mod requests;
    mod saved_plans;
    mod sent_forms;
    mod shown_plans;
    mod waiting;
}

mod support {
    pub mod advised;
    pub mod breaking;
    // Unused on other systems, which skip the tests of the served page.
    #[cfg_attr(not(target_os = "linux"), allow(dead_code))]
    pub mod browser;
    #[cfg_attr(not(target_os = "linux"), allow(dead_code))]
    pub mod browsers;
    pub mod compare_books;
    pub mod deeds;
    pub mod dense;
    pub mod dense_compare;
    pub mod dense_draws;
    pub mod dense_readings;
    #[cfg_attr(not(target_os = "linux"), allow(dead_code))]
    pub mod driver;
    mod files;
    pub mod folder;
    pub mod hostile_texts;
    pub mod invented_benches;
    pub mod kept;
    pub mod kills;
    // The benches use the rest.
    #[allow(dead_code)]
    pub mod many_benches;
    pub mod mounted;
    pub mod pages_of_books;
    pub mod pools;
    pub mod random_books;
    #[cfg_attr(not(target_os = "linux"), allow(dead_code))]
    pub mod served;
    pub mod shim;
    // The benches use the rest.
    #[allow(dead_code)]
    pub mod simulated;
    // The benches use the rest.
    #[allow(dead_code)]
    pub mod simulated_track;
    pub mod terminal;
    // The benches use the rest.
    #[allow(dead_code)]
    pub mod worlds;
    pub mod writing;

    pub use files::*;
}
