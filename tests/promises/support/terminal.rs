//! The program at a terminal, without waiting longer than it takes to answer. The library of
//! prompts looks for an answer only ten times a second.
#![cfg(unix)]

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

impl Terminal {
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

    pub fn send(&mut self, keys: &str) -> std::io::Result<()> {
        self.keys.write_all(keys.as_bytes())
    }

    pub fn send_line(&mut self, line: &str) -> std::io::Result<()> {
        self.send(&format!("{line}\n"))
    }

    /// Presses a letter together with the control key.
    pub fn send_control(&mut self, letter: char) -> std::io::Result<()> {
        self.keys.write_all(&[letter as u8 & 0x1f])
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

    /// Waits until the program has ended. Returns what it said by then.
    pub fn exp_eof(&mut self) -> Result<String, String> {
        let started = Instant::now();
        loop {
            match self.look(started) {
                Ok(()) => {}
                Err(RecvTimeoutError::Timeout) => return Err(format!("no end: {}", self.unread)),
                Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        self.process.wait().map_err(|error| error.to_string())?;
        self.ended = true;
        Ok(std::mem::take(&mut self.unread))
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
