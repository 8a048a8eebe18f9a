"""From a result to what is read: one module per format, made from the result alone."""
