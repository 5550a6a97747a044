"""What keeps people from harm and ballots secret, said in one place: on the forms, the guides, the carry slip and the first page of the morning.

The steps carry their own cautions where the work is done (`steps/*.toml`); these are the ones that hold everywhere.
"""

LAW = "Local law and the election office’s instructions come first, here and in every step."
LIFTING = "Two people lift a tabulator, its case and every container: bent knees, no twisting, 1,500 to 2,000 ballots at most in one."
CORDS = "Tape cords flat. Keep ways and exits clear, lamps at hand. In an evacuation people come first: nobody stays for a ballot."
SECRECY = (
    "Never look at the marks on a ballot. No voter’s name, no choice, no ballot number is written here or photographed."
)
CUSTODY = "Never leave tabulators, ballots or containers out of sight. No bin is opened while one of the two parties is out of the room."

ALL = (LAW, LIFTING, CORDS, SECRECY, CUSTODY)
"""Lifting: 1,500 to 2,000 sheets of legal size weigh about 14 to 18 kg before the box, within what the NIOSH lifting equation (1991) lets two people share.
The rest is common practice, no source."""
