use super::*;
use crate::report::fixture::empty;

#[test]
fn an_empty_page_says_what_will_be_there() {
    let page = page(&empty(1_795_629_600.0));
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("25 November 2026"));
    for promise in [
        "is named here once",
        "After your first answers",
        "are counted here",
        "is shown here after",
        "is listed here",
    ] {
        assert!(page.contains(promise), "{promise}");
    }
    for foreign in ["<script", "http://", "https://", "src="] {
        assert!(!page.contains(foreign), "{foreign}");
    }
}

#[test]
fn names_from_decks_cannot_break_the_page() {
    assert_eq!(escaped("<b> & \"q\""), "&lt;b&gt; &amp; &quot;q&quot;");
}
