//! The program at a terminal, without waiting longer than it takes to answer. The library of
//! prompts looks for an answer only ten times a second.
#![cfg(unix)]

use crate::support::folder::{Folder, PROGRAM};
use rexpect::process::{PtyProcess, Signal};
use std::fs::File;
use std::io::{Read, Write};
use std::process::Command;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// How long to wait for an answer.
const PATIENCE: Duration = Duration::from_secs(20);

pub struct Terminal {
    process: PtyProcess,
    ended: bool,
    keys: File,
    screen: Receiver<Vec<u8>>,
    /// What is on the screen and was not looked at yet. Every byte is one character.
    unread: String,
}

/// The program in this folder, for [`Terminal::start`], without colours.
pub fn plain(folder: &Folder, args: &[&str]) -> Command {
    let mut command = folder.command(PROGRAM);
    command.args(args).env("NO_COLOR", "1").env("TERM", "xterm");
    command
}

impl Terminal {
    /// Starts the program in this folder, without colours.
    pub fn run(folder: &Folder, args: &[&str]) -> Self {
        Self::start(plain(folder, args))
    }

    /// The same in a terminal so wide that no message is broken into lines.
    pub fn run_wide(folder: &Folder, args: &[&str]) -> Self {
        let mut command = plain(folder, args);
        command.env("COLUMNS", "400");
        Self::start(command)
    }

    pub fn start(command: Command) -> Self {
        let process = PtyProcess::new(command).expect("a terminal");
        let keys = process.get_file_handle().expect("its keys");
        let mut shown = keys.try_clone().expect("its screen");
        let (sender, screen) = channel();
        std::thread::spawn(move || {
            let mut room = [0; 4096];
            // A terminal whose program has ended gives an error instead of an end.
            while let Ok(read @ 1..) = shown.read(&mut room) {
                if sender.send(room[..read].to_vec()).is_err() {
                    break;
                }
            }
        });
        Self { process, ended: false, keys, screen, unread: String::new() }
    }

    pub fn send(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).expect("a terminal that takes keys");
    }

    pub fn send_line(&mut self, line: &str) {
        self.send(&format!("{line}\n"));
    }

    /// Presses a letter together with the control key.
    pub fn send_control(&mut self, letter: char) {
        self.send(&char::from(letter as u8 & 0x1f).to_string());
    }

    /// Sends each answer once its question appears.
    #[track_caller]
    pub fn converse(&mut self, exchange: &[(&str, &str)]) {
        for (question, answer) in exchange {
            self.expect(question);
            self.send_line(answer);
        }
    }

    /// As [`Self::exp_string`], but fails if the program does not say it.
    #[track_caller]
    pub fn expect(&mut self, text: &str) -> String {
        self.exp_string(text).unwrap_or_else(|error| panic!("{error}"))
    }

    /// Waits until the program says this. Returns what it said before.
    pub fn exp_string(&mut self, text: &str) -> Result<String, String> {
        let started = Instant::now();
        loop {
            if let Some(at) = self.unread.find(text) {
                let mut before: String = self.unread.drain(..at + text.len()).collect();
                before.truncate(at);
                return Ok(before);
            }
            if let Err(why) = self.look(started) {
                return Err(format!("no {text:?} in {:?}: {why}", self.unread));
            }
        }
    }

    /// Waits until the program has ended. Returns what it said by then and was not looked at yet.
    #[track_caller]
    pub fn rest(&mut self) -> String {
        let started = Instant::now();
        loop {
            match self.look(started) {
                Ok(()) => {}
                Err(RecvTimeoutError::Timeout) => panic!("no end: {}", self.unread),
                Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        self.process.wait().expect("its end");
        self.ended = true;
        std::mem::take(&mut self.unread)
    }

    /// Reads what is shown next.
    fn look(&mut self, started: Instant) -> Result<(), RecvTimeoutError> {
        let bytes = self.screen.recv_timeout(PATIENCE.saturating_sub(started.elapsed()))?;
        self.unread.extend(bytes.into_iter().map(char::from));
        Ok(())
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        if !self.ended {
            let _ = self.process.signal(Signal::SIGKILL);
            let _ = self.process.wait();
        }
    }
}
