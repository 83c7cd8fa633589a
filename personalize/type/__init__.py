"""From words to composed text: fonts, shaping, breaks, the fit, the sizes of a batch."""
