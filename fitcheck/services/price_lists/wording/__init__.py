"""What the words and figures in a list's cells mean: teeth, stages, sizes, prices, stock.

Every reading names its cell. What cannot be read is a value that says why; nothing is guessed.
"""
