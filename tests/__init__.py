"""Tests of enginesim; shared parts are imported as ``tests.exact`` and the like."""
