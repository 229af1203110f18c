"""Tests, by stage, as the folders of voxlog are."""
