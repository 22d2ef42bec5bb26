//! `bench`: serves the book as a web page.

use super::page::prepare;
use super::text::{Opened, opened_text};
use crate::jobs::desk::Desk;
use crate::page::frame::{Frame, Way};
use crate::page::handle::House;
use crate::page::key::Key;
use crate::page::route::Route;
use crate::page::server::{address, ended, on_network, serve};
use crate::terminal::exit::ExitStatus;
use crate::terminal::prompt::by_flag;
use crate::terminal::refusal::{CliError, Outcome};
use crate::terminal::session::Session;
use crate::terminal::values;
use crate::trade::Range;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::process::{Command, Stdio};
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::runtime::{Builder, Runtime};

/// Open the book as a page for this machine, or for the phones of your workshop
#[derive(Debug, clap::Args)]
#[command(before_long_help = "\
Examples:
  swellbook bench --open
  swellbook bench --share

It prints the address of the page, with a key that is new at every start. With --share it also \
prints a code to scan with a phone on the same network. Ctrl-C ends it.")]
#[command(after_long_help = "\
With --share everyone on the network who has the key can read and change the book, and what is sent \
is not encrypted. Use it in a network that you trust. SECURITY.md says more.")]
pub(crate) struct Args {
    /// Port of the page
    #[arg(long, value_name = "N", default_value = "7318")]
    port: String,
    /// Let phones and other machines on your network in; without it, only this machine
    #[arg(long)]
    share: bool,
    /// Open the page in a browser of this machine
    #[arg(long)]
    open: bool,
    /// Show the book, and refuse every change
    #[arg(long)]
    read_only: bool,
}

const PORTS: Range = Range { low: 0.0, high: 65_535.0, unit: "" };

/// Serves the pages of `routes`; `ways` are the navigation links.
pub(crate) fn run(
    args: Args,
    routes: &'static [Route<Desk>],
    ways: &'static [Way],
    session: &mut Session<'_>,
) -> Outcome {
    let port: u16 = by_flag("--port", &args.port, |text| values::whole(text, PORTS))?;
    let book = session.open_book()?;
    let key = Key::random().map_err(|why| failed(&format!("no key could be made: {why}")))?;
    let dir = book.dir().to_owned();
    let desk = Desk::new(dir, args.read_only, session.surroundings.clone(), key.token());
    let runtime = runtime().map_err(|why| failed(&why.to_string()))?;
    let listener = runtime.block_on(listener(args.share, port))?;
    let port = listener.local_addr().map_err(|why| failed(&why.to_string()))?.port();
    let own = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), port);
    let shared = on_network().filter(|_| args.share).map(|ip| SocketAddr::new(ip, port));
    let opened = Opened {
        here: address(own, key.text()),
        shared: args.share.then(|| shared.map(|place| address(place, key.text()))),
        read_only: args.read_only,
    };
    session.say(&opened_text(&opened, session.screen()))?;
    if args.open {
        open(&opened.here, session);
    }
    let frame = Frame { token: key.token(), ways, read_only: args.read_only };
    let house = House::new(key, frame, desk);
    let desk = Arc::clone(&house.desk);
    // Computes the first page before anyone opens it.
    std::thread::spawn(move || prepare(&desk));
    let app = house.app(routes);
    runtime.block_on(serve(listener, app, ended()));
    session.tell("the page is closed; everything that the page confirmed is in the book");
    Ok(())
}

fn failed(message: &str) -> CliError {
    CliError::Job { message: message.to_owned(), status: ExitStatus::Failed }
}

/// Two threads serve requests. Blocking work runs on other threads, at most 16.
fn runtime() -> std::io::Result<Runtime> {
    Builder::new_multi_thread().worker_threads(2).max_blocking_threads(16).enable_all().build()
}

async fn listener(share: bool, port: u16) -> Result<TcpListener, CliError> {
    let ip = if share { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    TcpListener::bind((ip, port)).await.map_err(|why| CliError::Value {
        flag: "--port",
        message: format!("port {port} cannot be opened ({why}); give another number"),
    })
}

/// Opens the page in a browser. The address is printed in any case.
fn open(address: &str, session: &mut Session<'_>) {
    let (program, first): (&str, &[&str]) = match std::env::consts::OS {
        "macos" => ("open", &[]),
        "windows" => ("explorer", &[]),
        _ => ("xdg-open", &[]),
    };
    let quiet = || Stdio::null();
    let mut command = Command::new(program);
    command.args(first).arg(address).stdin(quiet()).stdout(quiet()).stderr(quiet());
    if command.spawn().is_err() {
        session.tell("note: no browser could be started; open the address yourself");
    }
}
