//! One test binary (each one links the whole program anew); a module for each promise.

mod advice;
mod advised;
mod audit;
mod bench_prompt;
mod beyond;
mod book_files;
mod breaking;
mod brute_force;
mod certified;
mod charts;
mod checked;
mod choices;
mod choices_order;
mod command_line;
mod compare;
mod compare_books;
mod coverage;
mod deeds;
mod dense;
mod dense_compare;
mod dense_draws;
mod dense_partway;
mod dense_readings;
mod deviations;
mod directions;
mod export;
mod failing_calls;
mod failing_pairs;
mod flat_sheet;
mod folder;
mod full_disk;
mod gauge;
mod hostile;
mod hostile_names;
mod hostile_pages;
mod hostile_texts;
mod invariances;
mod kept;
mod killed;
mod kills;
mod large_book;
mod layers;
mod left_out;
mod midway;
mod mounted;
mod next_trial;
mod other_faults;
mod outputs;
mod outside_numbers;
mod own_files;
mod page;
mod pages_of_books;
mod partway;
mod pictures;
mod planned;
mod published_models;
mod random_books;
mod recorded_twice;
mod references;
mod sampler;
mod shim;
// The benches use the rest.
#[allow(dead_code)]
mod simulated;
mod simulated_partway;
// The benches use the rest.
#[allow(dead_code)]
mod simulated_track;
mod sizes;
mod steady;
mod streams;
mod strike_ids;
mod supply;
mod support;
mod texts;
mod track;
mod undoing;
// The benches use the rest.
#[allow(dead_code)]
mod worlds;
mod writers;
mod writing;
