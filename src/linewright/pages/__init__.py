"""The local pages: the plans of a folder seen, changed and answered in a browser. See docs/pages.md."""
