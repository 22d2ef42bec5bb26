//! Measures the speed and memory of the page: 50 phones at once, live predictions on a book of 200
//! trials, the first byte after the start, and memory over many requests.
//!
//! `cargo bench --bench page` sends 100,000 requests (minutes), `-- 2000` sends 2,000. It prints a
//! table.

// The tests use the rest.
#[allow(dead_code)]
#[path = "../tests/promises/support"]
mod support {
    pub mod folder;
    pub mod served;
}

use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{scope, sleep};
use std::time::{Duration, Instant};
use support::folder::Folder;
use support::served::{Reply, Served};

const TRIALS: usize = 200;
const PHONES: usize = 50;
const REQUESTS: usize = 100_000;
/// The pause between two requests of one phone: a moving slider sends five in a second.
const PAUSE: Duration = Duration::from_millis(200);

/// The addresses of a live prediction, and of a block whose readings are being typed.
const PLAN: &str =
    "/plan/way?paper=paper%20{}&thread=linen%2025&leaves=160&sheets=4&target=rounded";
const MEASURE: &str = "/measure?trial=T{}&state=sewn&spine-1=9.9&spine-2=9.8&fore-edge-1=7.4";

fn main() {
    let asked = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(REQUESTS);
    let folder = book();
    println!("| what | figure |\n| --- | --- |");
    let served = start(&folder);
    for (what, address) in [("prediction", PLAN), ("readings being typed", MEASURE)] {
        let reply = served.get(&numbered(address, 1));
        assert!(is_worked_out(&reply), "{what}: {}", reply.body);
        let alone = times(&served, address, 1, 50, Duration::ZERO);
        row(&format!("{what}, one phone"), &alone);
        let many = times(&served, address, PHONES, 500, PAUSE);
        row(&format!("{what}, {PHONES} phones"), &many);
    }
    let before = served.figure("VmRSS");
    let started = Instant::now();
    drop(times(&served, MEASURE, PHONES, asked, Duration::ZERO));
    let each = asked as f64 / started.elapsed().as_secs_f64();
    println!("| {asked} requests | {each:.0} in a second |");
    println!("| memory before them | {:.1} MiB |", mib(before));
    println!("| memory after them | {:.1} MiB |", mib(served.figure("VmRSS")));
    println!("| most memory ever | {:.1} MiB |", mib(served.figure("VmHWM")));
    slow_body(&served);
}

/// A book of 200 trials of eight papers, measured in two states.
fn book() -> Folder {
    let folder = Folder::new();
    let mut sheet =
        "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,place,state,\
                     spine_mm,fore_edge_mm\n"
            .to_owned();
    for trial in 0..TRIALS {
        let (sections, sheets) = (8 + trial % 9, 3 + trial % 3);
        let leaves = (4 * sheets * sections) as f64 * 0.1 / 2.0;
        for (state, share) in [("sewn", 0.55), ("knocked", 0.42)] {
            let share = share + 0.01 * ((trial * 7) % 11) as f64 - 0.05;
            let swell = share * 0.5 * sections as f64;
            for place in ["head", "middle", "tail"] {
                let noise = 0.02 * ((trial * 13 + place.len() * 5) % 7) as f64;
                sheet += &format!(
                    "T{trial},2026-01-{:02},paper {},medium,0.1,linen 25,0.5,{sections},{sheets},{place},\
                     {state},{:.2},{leaves:.2}\n",
                    1 + trial % 28,
                    trial % 8,
                    leaves + swell + noise
                );
            }
        }
    }
    folder.write("sheet.csv", sheet);
    folder.run(&["init", "."]).ends(0);
    folder.run(&["import", "sheet.csv"]).ends(0);
    folder
}

/// Starts the page and prints how long its first bytes took.
fn start(folder: &Folder) -> Served {
    let started = Instant::now();
    let served = Served::open(folder);
    let open = started.elapsed();
    served.get("/").is(200);
    let first = started.elapsed();
    println!("| from the start to the address | {:.0} ms |", ms(open));
    println!("| from the start to the first page | {:.0} ms |", ms(first));
    // The first page that needs the fit of the book starts it.
    while served.get("/measure").body.contains("One moment") {
        sleep(Duration::from_millis(100));
    }
    println!("| from the start to the first fit | {:.0} ms |", ms(started.elapsed()));
    served
}

/// Whether a page shows its figures, rather than that they are being worked out.
fn is_worked_out(reply: &Reply) -> bool {
    let says = ["chance of meeting", "(90&nbsp;% range)"];
    reply.status == 200 && says.iter().any(|says| reply.body.contains(says))
}

fn numbered(address: &str, at: usize) -> String {
    address.replace("{}", &(at % 8).to_string())
}

/// Sends `all` requests from `phones` connections that stay open. Returns the sorted response
/// times.
fn times(
    served: &Served,
    address: &str,
    phones: usize,
    all: usize,
    pause: Duration,
) -> Vec<Duration> {
    let (next, found) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    scope(|scope| {
        for phone in 0..phones {
            let (next, found) = (&next, &found);
            scope.spawn(move || {
                let mut stream = served.connect();
                stream.set_nodelay(true).expect("no waiting");
                sleep(pause * phone as u32 / phones as u32);
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if at >= all {
                        return;
                    }
                    let ask = served.asks(&format!("GET {}", numbered(address, at)));
                    let bytes = ask.with("Connection", "keep-alive").bytes();
                    let started = Instant::now();
                    stream.write_all(&bytes).expect("a request");
                    let reply = Reply::next(&mut stream);
                    assert!(is_worked_out(&reply), "{}", reply.body);
                    let took = started.elapsed();
                    found.lock().expect("no thread panics with it").push(took);
                    sleep(pause);
                }
            });
        }
    });
    let mut found = found.into_inner().expect("no thread panics with it");
    found.sort_unstable();
    found
}

/// Measures how long the server waits for a request body that does not arrive.
fn slow_body(served: &Served) {
    let ask = served.sends("/paper", &support::served::number(1), &[]);
    let mut stream = served.connect();
    stream.write_all(&ask.with("Content-Length", "1000").bytes()).expect("half a form");
    let started = Instant::now();
    let status = Reply::read(&mut stream).status;
    println!(
        "| a form that does not go on is answered {status} after | {:.1} s |",
        started.elapsed().as_secs_f64()
    );
}

fn ms(time: Duration) -> f64 {
    1000.0 * time.as_secs_f64()
}

fn mib(kib: u64) -> f64 {
    kib as f64 / 1024.0
}

fn row(what: &str, times: &[Duration]) {
    let at = |share: f64| ms(times[(share * (times.len() - 1) as f64) as usize]);
    let (half, most, worst) = (at(0.5), at(0.99), at(1.0));
    println!(
        "| {what} | half in {half:.0} ms, 99 in 100 in {most:.0} ms, the slowest {worst:.0} ms |"
    );
}
