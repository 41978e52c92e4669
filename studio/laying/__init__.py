"""Cloth of several jobs laid together: which want the same, one lay of all their pieces, its cost shared, cut in one act."""
