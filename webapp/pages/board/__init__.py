"""The pages of a central count board: Batches, feeding, trays, problem ballots, the running count. They stand beside those of a polling place."""
