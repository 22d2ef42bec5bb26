//! `report`: the whole book on one page, and the bench card.

pub(crate) mod answer_card;
pub(crate) mod command;
pub(crate) mod command_card;
pub(crate) mod draw;
pub(crate) mod draw_card;
pub(crate) mod draw_content;
pub(crate) mod draw_papers;
pub(crate) mod draw_proof;
pub(crate) mod draw_record;
pub(crate) mod draw_thread_way;
pub(crate) mod draw_trials;
