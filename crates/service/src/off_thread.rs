//! Long work off the threads that answer, which ends when nobody waits for it any more.

use crate::error::ServiceError;
use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

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
}
