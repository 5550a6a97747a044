"""What the desk says about accepting a packet, in one place: the page Intake shows these sentences, and the printed guide for the desk prints them."""

CODES = "With the hand scanner, or paste it: one code a line"
SCANNER = "The scanner types other letters: read the calibration code into its box once; codes read on this tablet are corrected by it."
ANY_ORDER = "Codes may come in any order, and twice. The page names those still wanted; about a quarter may be missing or unreadable."
WAYS = "By hand scanner, camera, photograph, the PDF or the file packet.cose: whatever the carriers have. A file that cannot be read is named, the others are taken."
CHECKED = "Once enough codes are in, the desk checks the signature, the place file, every balance drawn again, stock, seals and steps, and says each in a sentence."
NOT_PROVEN = "A key that is not enrolled here: the packet is accepted, not proven. Ask the place which laptop made it. It is never lost."
REFUSED = "A packet that is refused says why: another office’s place, practice among live, a changed byte. Set it aside, and key the place from its paper: Places, the place, Key this place from its paper."
TWO = "Two packets of one place: the newer one names the one it replaces. Two that name nothing contradict each other: ask the chair."
SEALS_FIRST = "Read and type the seals on the table first. The packet’s own numbers are shown after that."
ASK = "Short-signed steps first, then gaps, then remarks that are not clear, while the carriers are here."
STATES = "Places shows each place as expected, figures in, goods in, both, agreed, or with its questions. A gap with a signed remark stays visible."
TOTALS = "Totals are unofficial. Votes of few ballots are shown only together with a named neighbor."
RECEIPT = "Print the receipt when the seals are read. Carriers and receivers sign it in ink; it lists what is open. The carriers keep a copy."
PACKET = (WAYS, CODES + ".", ANY_ORDER, SCANNER, CHECKED, NOT_PROVEN, REFUSED, TWO)
TABLE = (SEALS_FIRST, ASK, RECEIPT, STATES, TOTALS)
