"""The building: crews, brace kits, clocks, what to buy and cut."""
