"""The customer's page: one HTML file that shows a frame offline, in any browser."""

from frame3d.share.page.build import Version, page_html

__all__ = ["Version", "page_html"]
