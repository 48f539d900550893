//! How the app comes onto the home screen; on an iPhone's own browser the two touches are drawn.

use crate::app::device::persist::in_safari_tab;
use crate::app::frame::app;
use crate::content::words as w;
use leptos::prelude::*;

#[component]
pub fn Install() -> impl IntoView {
    let app = app();
    let taps = in_safari_tab().then(|| {
        view! {
            <ol class="taps">
                <li>{share()}<span>{app.word(w::INSTALL_SHARE)}</span></li>
                <li>{add()}<span>{app.word(w::INSTALL_ADD)}</span></li>
            </ol>
            <p class="small">{app.word(w::INSTALL_WHERE)}</p>
        }
    });
    let plain = taps.is_none().then(|| view! { <p>{app.word(w::ABOUT_INSTALL_ABOUT)}</p> });
    view! {
        <h2>{app.word(w::ABOUT_INSTALL)}</h2>
        {plain}
        {taps}
    }
}

/// The lower end of a phone, the bar of its browser, and in it the box that an arrow leaves.
fn share() -> impl IntoView {
    view! {
        <svg class="tap" viewBox="0 0 120 96" aria-hidden="true" focusable="false">
            <path d="M18 4v76a10 10 0 0 0 10 10h64a10 10 0 0 0 10-10V4M18 54h84M30 16h60M30 28h44M30 40h52"></path>
            <circle class="tap-ring" cx="60" cy="72" r="15"></circle>
            <path class="tap-mark" d="M56 70h-3v10h14V70h-3M60 76V63M56 66.500l4-4 4 4"></path>
        </svg>
    }
}

/// A list that has come up, and in it the row with the plus in a square.
fn add() -> impl IntoView {
    view! {
        <svg class="tap" viewBox="0 0 120 96" aria-hidden="true" focusable="false">
            <path d="M18 90V16a10 10 0 0 1 10-10h64a10 10 0 0 1 10 10v74M54 14h12M30 28h42M18 38h84M18 66h84M30 78h36"></path>
            <circle class="tap-ring" cx="84" cy="52" r="14"></circle>
            <path class="tap-mark" d="M30 52h32M77 45h14v14H77zM84 48.500v7M80.500 52h7"></path>
        </svg>
    }
}
