"""The bed under the unit: the void, the mortar that fills it, its mix and batches, what to buy."""
