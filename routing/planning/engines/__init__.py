"""Solvers behind one small interface; each adapter is one module."""
