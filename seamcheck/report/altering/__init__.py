"""An alteration told: what it does, its steps on paper, its pieces drawn."""
