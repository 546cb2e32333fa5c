"""Many floors side by side in vector registers: the compiled kernels.

lanes   the vectors, and threads over blocks of them
lift    coarse fields to fine surfaces
flood   standing water by depression filling
"""
