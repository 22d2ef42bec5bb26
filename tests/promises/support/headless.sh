#!/bin/sh
# The browser without a window starts in a quarter of a second instead of one and a half. It opens
# no page by itself, but the driver waits for one.
exec chromium-headless-shell "$@" about:blank
