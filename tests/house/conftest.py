"""The trees of all files, read once for the tests of this folder."""

import pytest

from tests.house import tree


@pytest.fixture(scope="package", autouse=True)
def trees_given_back():
    yield
    tree.forget()
