"""The computation: pure, without web, store, files or clock."""
