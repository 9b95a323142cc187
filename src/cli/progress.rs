//! A line at a terminal that says that work goes on, where it takes long.

use std::io::{self, Write};
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::thread::{Builder, JoinHandle};
use std::time::{Duration, Instant};

/// Until the line appears, and from one figure to the next.
pub(super) const BEAT: Duration = Duration::from_millis(500);

/// The line; it is taken off when this is dropped.
pub(super) struct Progress {
    stop: Option<Sender<()>>,
    drawing: Option<JoinHandle<()>>,
}

impl Progress {
    /// Draws on a screen from the first beat on.
    pub(super) fn start(screen: Box<dyn Write + Send>, beat: Duration) -> Self {
        let (stop, stopped) = mpsc::channel();
        let draw = move || {
            let (mut screen, begun, mut drawn) = (screen, Instant::now(), false);
            let mut put = |text: String| -> io::Result<()> {
                screen.write_all(text.as_bytes())?;
                screen.flush()
            };
            while stopped.recv_timeout(beat) == Err(RecvTimeoutError::Timeout) {
                drawn |= put(format!("\rstill working, {} s so far", begun.elapsed().as_secs())).is_ok();
            }
            if drawn {
                let _ = put("\r\x1b[K".to_owned());
            }
        };
        // Without a thread to spare there is no line.
        Self { stop: Some(stop), drawing: Builder::new().spawn(draw).ok() }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.stop = None;
        self.drawing.take().map(JoinHandle::join);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hands on what is written.
    struct Screen(Sender<String>);

    impl Write for Screen {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            let _ = self.0.send(String::from_utf8_lossy(bytes).into_owned());
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn the_line_is_taken_off_again() {
        let (screen, written) = mpsc::channel();
        let progress = Progress::start(Box::new(Screen(screen)), Duration::ZERO);
        assert_eq!(written.recv().unwrap(), "\rstill working, 0 s so far");
        drop(progress);
        assert_eq!(written.iter().last().unwrap(), "\r\x1b[K");
    }

    #[test]
    fn what_is_done_at_once_draws_nothing() {
        let (screen, written) = mpsc::channel();
        drop(Progress::start(Box::new(Screen(screen)), Duration::MAX));
        assert_eq!(written.iter().count(), 0);
    }
}
