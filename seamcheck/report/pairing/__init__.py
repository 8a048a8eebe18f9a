"""A proposal of seams, told, drawn and put on the page that it is confirmed on."""
