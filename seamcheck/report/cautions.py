"""What every run reminds its reader of: what a check of seams cannot see."""

CAUTIONS = (
    "A pattern that trues sews together; it may still not fit. Make it up in cheap cloth first.",
    "Children's nightwear and cords on children's clothes are governed by law, which is not checked here. See for "
    "nightwear 16 CFR 1615 and 1616 (United States) and EN 14878 (Europe), for cords and drawstrings ASTM F1816 "
    "and EN 14682, in the edition that holds where the garment is sold; they go before anything said here.",
)

# The same for who reads it every day: the whole is told with --verbose, and stands in README.md.
SHORT = (
    "A pattern that trues may still not fit: make it up in cheap cloth first. "
    "Laws on children's nightwear and cords are not checked."
)

# What is said wherever a fit is chosen by what is seen.
OF_FITS = (
    "Reading cloth is no exact science: more than one cause can make the same fold. Make one change at a time, try it in cheap "
    "cloth, and look at a photograph, which shows more than a mirror.",
)
