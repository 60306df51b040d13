"""Pages and forms of what is done about organic status at goods-in."""
