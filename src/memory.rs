//! One setting of the allocator that keeps a batch small.

/// Lets all threads share one arena of the allocator; call it before the first thread starts.
///
/// Where the system's allocator keeps an arena for each thread (glibc), what one worker frees is of no use to the next,
/// and a run with two workers takes a sixth more. Elsewhere this does nothing.
pub fn share() {
    #[cfg(target_env = "gnu")]
    {
        // SAFETY: mallopt only sets a number; no other thread runs yet.
        let done = unsafe { libc::mallopt(libc::M_ARENA_MAX, 1) };
        debug_assert_eq!(done, 1, "glibc knows this setting");
    }
}
