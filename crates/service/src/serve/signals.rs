//! How the process is told to stop: SIGTERM or SIGINT.

use std::io;

/// Begins to listen for the signals at once; the future is ready when one has come.
#[cfg(unix)]
pub(crate) fn told_to_stop() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};

    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    Ok(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
    })
}

/// Listens for the interrupt key.
#[cfg(not(unix))]
pub(crate) fn told_to_stop() -> io::Result<impl Future<Output = ()>> {
    Ok(async {
        if let Err(trouble) = tokio::signal::ctrl_c().await {
            tracing::warn!(%trouble, "the interrupt key cannot be heard");
            std::future::pending::<()>().await;
        }
    })
}
