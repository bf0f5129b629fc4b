"""The customer's page: one HTML file that shows a frame offline, in any browser."""

from frame3d.web.page.build import page_html

__all__ = ["page_html"]
