//! Hands: which sticking works at a tempo, and why.
