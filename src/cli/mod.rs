//! The command line: arguments and prompts, and a call into the layers to the left.

pub mod audit;
pub mod card;
pub mod chart;
pub mod command;
pub mod compare;
pub mod export;
pub mod fit;
pub mod gauge;
pub mod import;
pub mod init;
pub mod keep;
pub mod midway;
pub mod next;
pub mod plan;
pub mod planned;
pub mod predict;
pub mod question;
pub mod record;
pub mod refusal;
pub mod report;
pub mod start;
pub mod strike;
pub mod tour;
pub mod wanted;
