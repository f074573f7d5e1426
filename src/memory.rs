//! Two settings of the allocator that keep a batch small.

/// Lets threads share two arenas of the allocator, and gives large blocks back to the system as soon as they are free;
/// call it before the first thread starts.
///
/// Where the system's allocator (glibc) keeps an arena for each thread, what one worker frees is of no use to the next,
/// and a run with two workers takes a tenth more. With a single arena two workers wait for each other and are no faster
/// than one. Elsewhere this does nothing.
pub fn share() {
    #[cfg(target_env = "gnu")]
    {
        const LARGE: libc::c_int = 128 << 10;
        // SAFETY: mallopt only sets a number; no other thread runs yet.
        let done = unsafe { [libc::mallopt(libc::M_ARENA_MAX, 2), libc::mallopt(libc::M_MMAP_THRESHOLD, LARGE)] };
        debug_assert_eq!(done, [1, 1], "glibc knows these settings");
    }
}
