"""Render the invented demo homes with a physically based renderer (extra ``demo``)."""
