"""The pages of a central count board: Batches, feeding, trays, problem ballots, the running count. It has those of a polling place as well."""
