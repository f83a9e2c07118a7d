//! Long work off the threads that answer, which ends when nobody waits for it any more.

use crate::error::ServiceError;
use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

/// The priority of a search among the threads of the service: 0 is usual, 19 the least.
#[cfg(target_os = "linux")]
const SEARCH_NICENESS: i32 = 15;

/// Tells long work whether its caller has gone away: by a deadline, a closed connection or a stop.
#[derive(Debug, Clone, Default)]
pub(crate) struct Abandoned(Arc<AtomicBool>);

impl Abandoned {
    /// Whether nobody waits any more.
    pub(crate) fn is_so(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    /// Says that nobody waits any more.
    pub(crate) fn now(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Says so when the waiting future is dropped.
struct Waiting(Abandoned);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.now();
    }
}

/// Runs `work` on a thread of its own and waits for it.
pub(crate) async fn off_thread<T: Send + 'static>(
    work: impl FnOnce(&Abandoned) -> T + Send + 'static,
) -> Result<T, ServiceError> {
    let waiting = Waiting(Abandoned::default());
    let abandoned = waiting.0.clone();
    tokio::task::spawn_blocking(move || work(&abandoned)).await.map_err(ServiceError::internal)
}

/// Runs a long search as `off_thread` does, on a thread that gives way.
pub(crate) async fn search_off_thread<T: Send + 'static>(
    work: impl FnOnce(&Abandoned) -> T + Send + 'static,
) -> Result<T, ServiceError> {
    off_thread(move |abandoned| giving_way(|| work(abandoned))).await
}

/// Runs a long search on a thread which, with all threads that it begins, gives way to those that answer
/// calls (on Linux, where priority is a thread's own), and waits for it.
pub(crate) fn giving_way<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    std::thread::scope(|scope| {
        let searching = scope.spawn(|| {
            give_way();
            work()
        });
        searching.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    })
}

#[cfg(target_os = "linux")]
fn give_way() {
    // No process is the calling thread. Without the lower priority the search is right all the same.
    if let Err(refused) = rustix::process::setpriority_process(None, SEARCH_NICENESS) {
        tracing::debug!(%refused, "a search runs at the usual priority");
    }
}

#[cfg(not(target_os = "linux"))]
fn give_way() {}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[tokio::test]
    async fn work_is_told_when_nobody_waits_any_more() {
        let (sender, ended) = std::sync::mpsc::channel();
        let work = off_thread(move |abandoned| {
            while !abandoned.is_so() {
                std::thread::yield_now();
            }
            sender.send(()).unwrap();
        });
        // The deadline of a call drops what it waited for.
        assert!(tokio::time::timeout(Duration::from_millis(5), work).await.is_err());
        let told = tokio::task::spawn_blocking(move || ended.recv()).await.unwrap();
        assert!(told.is_ok());
    }

    #[tokio::test]
    async fn work_that_is_waited_for_ends_by_itself() {
        let told = off_thread(Abandoned::is_so).await.unwrap();
        assert!(!told);
    }

    #[cfg(target_os = "linux")]
    #[tokio::test]
    async fn a_search_and_its_threads_give_way_and_the_others_do_not() {
        let own = || rustix::process::getpriority_process(None).unwrap();
        let before = own();
        let (search, worker) = search_off_thread(move |_| {
            let worker = std::thread::scope(|scope| scope.spawn(own).join().unwrap());
            (own(), worker)
        })
        .await
        .unwrap();
        assert_eq!((search, worker), (SEARCH_NICENESS, SEARCH_NICENESS));
        assert_eq!((own(), off_thread(move |_| own()).await.unwrap()), (before, before));
    }
}
