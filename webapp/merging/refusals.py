"""Why a desk's folder or a bundle is not taken: one sentence, with what to do."""


class BundleRefused(Exception):
    """These bytes, or this folder, are not what they should be. Its text is one sentence."""
