"""The physics: pure functions on floats and arrays, no input or output, no clock."""
