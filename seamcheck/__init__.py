"""seamcheck walks every seam of a sewing pattern, in every size, and says what no longer trues."""

__version__ = "0.1.0"
