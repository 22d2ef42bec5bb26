//! `report`: the whole book on one page, the bench card, and sheets to print for the bench.

pub(crate) mod answer_blank;
pub(crate) mod answer_card;
pub(crate) mod answer_change;
pub(crate) mod answer_ready;
pub(crate) mod answer_trials;
pub(crate) mod command;
pub(crate) mod command_card;
pub(crate) mod command_sheet;
pub(crate) mod draw;
pub(crate) mod draw_answer;
pub(crate) mod draw_card;
pub(crate) mod draw_card_content;
pub(crate) mod draw_card_picture;
pub(crate) mod draw_card_room;
pub(crate) mod draw_card_words;
pub(crate) mod draw_content;
pub(crate) mod draw_papers;
pub(crate) mod draw_proof;
pub(crate) mod draw_record;
pub(crate) mod draw_sheet;
pub(crate) mod draw_thread_path;
pub(crate) mod draw_thread_way;
pub(crate) mod draw_trials;
pub(crate) mod page;
pub(crate) mod page_card;
pub(crate) mod page_sheet;
