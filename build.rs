//! How the program is linked while it is worked on.

/// At every start of a program that may lie anywhere in memory, the two hundred thousand addresses
/// in it are put right, most of them those of the table library: two thirds of the time of a short
/// command. The tests start the program thousands of times, so what is built here lies in one place. What is
/// packaged is another target (musl), and is left as it is.
fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let of = |name| std::env::var(name).unwrap_or_default();
    if of("CARGO_CFG_TARGET_OS") == "linux" && of("CARGO_CFG_TARGET_ENV") == "gnu" {
        println!("cargo::rustc-link-arg-bins=-no-pie");
    }
}
