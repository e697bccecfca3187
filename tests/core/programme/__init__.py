"""Tests of the week's shape and of the sessions in it."""
