"""Planes, height fields, outlines, rigid fits: plain functions on arrays, no wood, no steel."""
