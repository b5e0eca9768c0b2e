//! Tests that take minutes run only when `KNOTWRIGHT_SLOW_TESTS` asks for them: `required`, as `.ci/run` does, or
//! `all`, which takes the better part of an hour on two cores.

/// How much is asked for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Patience {
    Little,
    Required,
    All,
}

fn patience() -> Patience {
    match std::env::var("KNOTWRIGHT_SLOW_TESTS").as_deref() {
        Err(_) | Ok("") => Patience::Little,
        Ok("required") => Patience::Required,
        Ok("all") => Patience::All,
        Ok(other) => panic!("KNOTWRIGHT_SLOW_TESTS is `{other}`; it may be `required` or `all`"),
    }
}

/// Whether tests that take long are to run.
pub(crate) fn wanted() -> bool {
    patience() >= Patience::Required
}

/// How many runs of something to make, of seeds or of knots alike: usually, when slow tests are required, and when all are wanted.
#[expect(clippy::print_stderr, reason = "a test that leaves something out has to say so")]
pub(crate) fn runs([usual, required, all]: [u64; 3]) -> u64 {
    let count = match patience() {
        Patience::Little => usual,
        Patience::Required => required,
        Patience::All => all,
    };
    if count < all {
        eprintln!(
            "{count} of {all} runs are made; KNOTWRIGHT_SLOW_TESTS={} makes more",
            if count < required { "required" } else { "all" }
        );
    }
    count
}
