//! Work split over threads by row, results in row order whatever the number of threads.

use std::sync::atomic::{AtomicUsize, Ordering};

/// `[work(0), work(1), ...]`, each item computed once by one of `threads` threads.
///
/// `work` must depend on its argument alone; then neither the number of threads nor their timing reaches the result.
pub(super) fn rows<T: Send>(threads: usize, count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    if threads <= 1 || count <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let take = || {
        let mut mine = Vec::new();
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            if i >= count {
                return mine;
            }
            mine.push((i, work(i)));
        }
    };
    let mut all: Vec<(usize, T)> = std::thread::scope(|s| {
        let handles: Vec<_> = (0..threads.min(count)).map(|_| s.spawn(take)).collect();
        handles
            .into_iter()
            .flat_map(|h| h.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            .collect()
    });
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, t)| t).collect()
}

#[cfg(test)]
mod tests {
    use super::rows;

    #[test]
    fn results_come_in_order_for_any_number_of_threads() {
        let expected: Vec<usize> = (0..100).map(|i| i * i).collect();
        for threads in [0, 1, 2, 3, 200] {
            assert_eq!(rows(threads, 100, |i| i * i), expected);
        }
    }
}
