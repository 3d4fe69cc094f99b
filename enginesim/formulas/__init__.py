"""Scalar relations in plain Python, for kernels to inline and for anybody else to call."""
