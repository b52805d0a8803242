"""Every JSON contract, in one place, and what to know before issuing."""
