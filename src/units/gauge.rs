//! A line from a gauge that types its value and Enter.
