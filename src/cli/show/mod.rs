//! `show`: the page on this machine only, rebuilt when the file changes; changes are tried on a copy.
//!
//! Four kinds of threads share one [`desk::Desk`]: one looks at the file, one judges, one draws and plans, a few answer the page.
//! The verdict comes in stages, each put on the desk as soon as it is known: rules, solid, walls; then drawing, clasp, job.

mod answer;
mod desk;
mod stages;

use super::args::{Color, Show};
use super::{Ended, files, make};
use crate::params::LARGEST_FILE;
use desk::Desk;
use std::io::{IsTerminal as _, Write as _};
use std::path::Path;
use std::time::Duration;
use tiny_http::Server;

/// How often the file is looked at.
const LOOK: Duration = Duration::from_millis(80);
/// Requests answered at once.
const ANSWERERS: usize = 3;

/// Runs `show` until it is ended.
pub(super) fn show(a: &Show, color: Color, quiet: bool) -> Ended {
    let failed = |text: String| Ended { code: 3, stdout: String::new(), stderr: format!("{text}\n") };
    let bytes = match files::read(&a.file, LARGEST_FILE as u64) {
        Ok(b) => b,
        Err(e) => return make::unwritten(&e),
    };
    let bench =
        match super::plan::bench(a.bench.as_deref(), make::painted(color, std::io::stderr().is_terminal())) {
            Ok(b) => b,
            Err(e) => return e,
        };
    let server = match Server::http(("127.0.0.1", a.port)) {
        Ok(s) => s,
        Err(e) => return failed(format!("port {} cannot be used: {e}", a.port)),
    };
    let Some(port) = server.server_addr().to_ip().map(|ip| ip.port()) else {
        return failed("no address on this machine".into());
    };
    let desk = Desk::new(bytes, bench.own);
    if !quiet {
        let name = a.file.display();
        // Nobody is harmed if it cannot be said.
        let _ = writeln!(std::io::stdout(), "{name} is shown at http://127.0.0.1:{port}/ ; Ctrl-C ends it.");
    }
    std::thread::scope(|scope| {
        let (judged, rest) = std::sync::mpsc::channel();
        let (desk, file) = (&desk, &a.file);
        scope.spawn(move || watch(file, desk));
        scope.spawn(move || stages::judge(desk, &judged));
        scope.spawn(move || stages::rest(desk, &rest));
        for _ in 0..ANSWERERS {
            scope.spawn(|| {
                while let Ok(request) = server.recv() {
                    answer::answer(request, file, port, desk);
                }
            });
        }
    });
    Ended { code: 0, stdout: String::new(), stderr: String::new() }
}

/// Puts the file on the desk when it is another; one that is gone or empty for a moment, as while an editor saves, is waited for.
fn watch(file: &Path, desk: &Desk) {
    loop {
        std::thread::sleep(LOOK);
        let Ok(bytes) = files::read(file, LARGEST_FILE as u64) else { continue };
        if !bytes.trim_ascii().is_empty() {
            desk.file(bytes);
        }
    }
}
