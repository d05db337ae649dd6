"""The gluing schedule: when each ring goes in the press, and when each stack is ready."""
