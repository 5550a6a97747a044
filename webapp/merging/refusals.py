"""Why a desk's folder or a bundle is not taken: one sentence, with what to do."""


class BundleRefused(Exception):
    """Bytes, or a folder, that are not what they should be. Its text is one sentence."""


class OtherHistory(BundleRefused):
    """A second history of one desk: both cannot be true. `desk`: its id."""

    def __init__(self, desk: str, sentence: str):
        super().__init__(sentence)
        self.desk = desk
