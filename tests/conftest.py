"""What several tests share."""

import warnings

import pytest


@pytest.fixture(scope="session")
def ipa_features():
    """Return what panphon 0.22 says of an IPA text: for each of its segments the features, 1, 0 or -1."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it reads its tables through a module of setuptools that warns
        import panphon

        return panphon.FeatureTable().word_fts
