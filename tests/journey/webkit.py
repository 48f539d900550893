"""The smallest browser around WebKitGTK that keeps a profile, for WebKitWebDriver to drive.

    /usr/bin/python3 webkit.py PROFILE

The library's own MiniBrowser, under a driver, keeps everything in its memory only: with it nothing could be shown to last over
a killed browser. Pages are as wide as a phone, and downloads go to the folder "downloads" of the profile, unasked.
"""

import os
import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gtk, WebKit2  # noqa: E402

WIDTH, HEIGHT = 390, 844  # CSS px, as in the other journeys

profile = os.path.abspath(sys.argv[1])
downloads = os.path.join(profile, "downloads")
os.makedirs(downloads, exist_ok=True)
data = WebKit2.WebsiteDataManager(
    base_data_directory=os.path.join(profile, "data"),
    base_cache_directory=os.path.join(profile, "cache"),
)
context = WebKit2.WebContext.new_with_website_data_manager(data)
context.set_automation_allowed(True)


def view_for(_session):
    """A window of its own for each tab: none is ever hidden behind another."""
    window = Gtk.Window(default_width=WIDTH, default_height=HEIGHT)
    view = WebKit2.WebView(web_context=context, is_controlled_by_automation=True)
    view.connect("close", lambda _view: window.destroy())
    window.add(view)
    window.show_all()
    return view


def named(download, name):
    download.set_destination("file://" + os.path.join(downloads, os.path.basename(name)))
    return True


context.connect("automation-started", lambda _context, session: session.connect("create-web-view", view_for))
context.connect("download-started", lambda _context, download: download.connect("decide-destination", named))
Gtk.main()
