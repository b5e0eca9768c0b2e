//! The window's pure parts, and one picture drawn by whatever adapter there is.

mod adapter;
mod beside;
mod bodies;
mod child;
mod fake;
mod film;
mod finished_knot;
mod form;
mod hands;
mod keys;
mod mapping;
mod pad;
mod panels;
mod preflight;
mod pulling;
mod real_events;
mod reload;
mod screens;
mod site_check;
mod tracked;
mod tube;
mod tutorial;
mod words;
