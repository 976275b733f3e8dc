//! A word on the terminal when a step takes longer than a second; nothing anywhere else.

use std::io::{IsTerminal as _, Write as _};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// Patience before anything is said.
const PATIENCE: Duration = Duration::from_secs(1);

/// Runs a step; says `what` on standard error if that is a terminal and the step is slow.
pub(super) fn patiently<T>(what: &str, quiet: bool, step: impl FnOnce() -> T) -> T {
    if quiet || !std::io::stderr().is_terminal() {
        return step();
    }
    std::thread::scope(|scope| {
        let (done, wait) = channel::<()>();
        scope.spawn(move || {
            if wait.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                // Nobody is harmed if it cannot be said.
                let _ = writeln!(std::io::stderr(), "{what} ...");
            }
        });
        let out = step();
        // Dropping the sender ends the waiting thread at once.
        drop(done);
        out
    })
}
