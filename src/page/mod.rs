//! The book as web pages: access, forms, and the frame of every page.
//!
//! This module serves the jobs and knows none of them: a job hands it a [`route::Route`].

pub(crate) mod address;
pub(crate) mod assets;
pub(crate) mod door;
pub(crate) mod field;
pub(crate) mod form;
pub(crate) mod form_page;
pub(crate) mod frame;
pub(crate) mod handle;
pub(crate) mod key;
pub(crate) mod mark;
pub(crate) mod route;
pub(crate) mod server;
pub(crate) mod strip;
pub(crate) mod turned;
