"""castplan: from a part's mesh to a plan for a two-part silicone block mould."""

__version__ = "0.1.0"
