//! Work shared among threads.

/// Maps chunks of a list, each on a thread of its own where there is more than one.
pub(crate) fn on_threads<T: Sync, R: Send>(
    list: &[T],
    share: usize,
    map: impl Fn(&[T]) -> R + Sync,
) -> Vec<R> {
    if list.len() <= share {
        return vec![map(list)];
    }
    std::thread::scope(|scope| {
        let map = &map;
        let running: Vec<_> = list.chunks(share).map(|chunk| scope.spawn(move || map(chunk))).collect();
        running
            .into_iter()
            .map(|thread| match thread.join() {
                Ok(part) => part,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}
