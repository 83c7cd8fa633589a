"""Vocabulary of plane geometry: affines, paths and regions, in mm with y up."""
