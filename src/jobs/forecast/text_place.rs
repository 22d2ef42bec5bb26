//! Where a sentence is read: it names options at the terminal, and fields on a page.

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    Terminal,
    Page,
}
