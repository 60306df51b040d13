"""Kettles, scales, batches and the weigh-up."""
