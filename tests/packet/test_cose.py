"""COSE_Sign1 against RFC 9052, the examples of its working group, and the Ed25519 vectors of RFC 8032."""

import base64
import json

import cbor2
import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature

from webapp.packet import cose

EDDSA_01 = bytes.fromhex(
    "D28445A201270300A10442313154546869732069732074686520636F6E74656E742E58407142FD2FF96D56DB85BEE905A76BA1D0B7321A95C8C4D3607C5781932B"
    "7AFB8711497DFA751BF40B58B3BCC32300B1487F3DB34085EEF013BF08F4A44D6FEF0D"
)
EDDSA_01_SIGNED = "846A5369676E61747572653145A2012703004054546869732069732074686520636F6E74656E742E"
EDDSA_01_KEY = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
"""COSE working group examples, eddsa-sig-01 (commit 53c9d63): output, ToBeSign, public key."""
CONTEXT = "tapeseal/place/1/practice"


def test_the_published_ed25519_envelope_is_taken_apart_and_its_signature_holds():
    found = cose.taken_apart(EDDSA_01)

    assert (b"This is the content.", {4: b"11"}) == (found.payload, dict(found.unprotected))
    assert EDDSA_01_SIGNED == cose.to_be_signed(found.protected, b"", found.payload).hex().upper()
    assert EDDSA_01 == cose.composed(found)
    assert cose.holds(found, Ed25519PublicKey.from_public_bytes(bytes.fromhex(EDDSA_01_KEY)), "")


def test_the_published_envelope_is_still_none_of_ours_for_its_header_holds_more():
    with pytest.raises(cose.PacketRefused, match="more or less than the signature and its key"):
        cose.verify(EDDSA_01, {}, "")


@pytest.mark.parametrize(
    "name, same",
    [
        ("eddsa-sig-01", True),
        ("sign-pass-01", True),
        ("sign-pass-02", True),
        ("sign-pass-03", True),
        ("sign-fail-01", True),
        ("sign-fail-02", False),
        ("sign-fail-03", False),
        ("sign-fail-04", False),
        ("sign-fail-06", False),
        ("sign-fail-07", False),
    ],
)
def test_what_is_signed_is_what_the_working_group_says_is_signed(shared, name, same):
    """RFC 9052 section 4.4; fail-02 to fail-07 were changed after ToBeSign was written down, so theirs must differ from it."""
    example = json.loads(shared(f"standards/cose/{name}.json").read_text())
    _, (protected, _, payload, _) = _members(bytes.fromhex(example["output"]["cbor"]))
    structure = cose.to_be_signed(protected, bytes.fromhex(example["input"]["sign0"].get("external", "")), payload)

    assert same == (structure.hex().upper() == example["intermediates"]["ToBeSign_hex"])


@pytest.mark.parametrize("name", ["sign-pass-01", "sign-pass-02", "sign-pass-03"])
def test_the_good_p256_examples_hold_under_our_structure(shared, name):
    assert _p256_holds(json.loads(shared(f"standards/cose/{name}.json").read_text()))


@pytest.mark.parametrize("name", ["sign-fail-02", "sign-fail-03", "sign-fail-04", "sign-fail-06", "sign-fail-07"])
def test_the_bad_p256_examples_do_not_hold_under_our_structure(shared, name):
    assert not _p256_holds(json.loads(shared(f"standards/cose/{name}.json").read_text()))


@pytest.mark.parametrize(
    "name, sentence",
    [
        ("sign-pass-01", "not signed with Ed25519"),
        ("sign-pass-02", "not signed with Ed25519"),
        ("sign-pass-03", "do not carry the mark"),
        ("sign-fail-01", "carry the mark 998"),
        ("sign-fail-02", "not signed with Ed25519"),
        ("sign-fail-03", "not signed with Ed25519"),
        ("sign-fail-04", "not signed with Ed25519"),
        ("sign-fail-06", "not signed with Ed25519"),
        ("sign-fail-07", "not signed with Ed25519"),
    ],
)
def test_each_example_of_another_algorithm_is_refused_in_its_own_words(shared, name, sentence):
    example = json.loads(shared(f"standards/cose/{name}.json").read_text())
    with pytest.raises(cose.PacketRefused, match=sentence):
        cose.verify(bytes.fromhex(example["output"]["cbor"]), {}, "")


def test_ed25519_is_the_one_of_rfc_8032():
    """Section 7.1, TEST 2: one byte, 72."""
    key = Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    )
    assert (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        == key.sign(b"\x72").hex()
    )


def test_every_ed25519_vector_holds_and_every_derived_negative_does_not(shared):
    stored = json.loads(shared("standards/rfc8032-ed25519.json").read_text())
    for vector in stored["vectors"] + stored["derived_negative"]:
        try:
            key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(vector["public_key"]))
            key.verify(bytes.fromhex(vector["signature"]), bytes.fromhex(vector["message"]))
            held = True
        except (InvalidSignature, ValueError):
            held = False
        assert held == vector.get("valid", False), vector["name"]


def test_what_we_sign_has_exactly_the_form_it_is_kept_in(key, keys):
    made = cose.sign(b"payload", key, CONTEXT)
    tag, (protected, unprotected, payload, signature) = _members(made)

    assert (18, {1: -8, 4: next(iter(keys))}, {}, b"payload", 64) == (
        tag,
        dict(cbor2.loads(protected)),
        dict(unprotected),
        payload,
        len(signature),
    )
    assert b"payload" == cose.verify(made, keys, CONTEXT)


def test_the_name_of_a_key_is_the_first_8_bytes_of_its_sha_256(key):
    """SHA-256 of the public key of RFC 8032 TEST 1, worked out with sha256sum."""
    assert "21fe31dfa154a261" == cose.key_id(key.public_key()).hex()


def test_an_unknown_key_still_gives_what_it_signed(key):
    with pytest.raises(cose.UnknownKey, match="is not enrolled here") as unknown:
        cose.verify(cose.sign(b"payload", key, CONTEXT), {}, CONTEXT)
    assert (b"payload", cose.key_id(key.public_key())) == (unknown.value.payload, unknown.value.kid)


def test_a_changed_byte_anywhere_is_refused(key, keys):
    made = cose.sign(b"the payload", key, CONTEXT)
    for place in range(len(made)):
        spoilt = bytearray(made)
        spoilt[place] ^= 1
        with pytest.raises(cose.PacketRefused):
            cose.verify(bytes(spoilt), keys, CONTEXT)


def test_a_file_cut_at_any_byte_or_with_one_more_is_refused(key, keys):
    made = cose.sign(b"the payload", key, CONTEXT)
    for cut in [made[:length] for length in range(len(made))] + [made + b"\0"]:
        with pytest.raises(cose.PacketRefused):
            cose.verify(cut, keys, CONTEXT)


@pytest.mark.parametrize(
    "asked, sentence",
    [
        ("tapeseal/place/1/live", "signed for practice, and live is asked for"),
        ("tapeseal/packet/1/practice/0", "does not hold"),
    ],
)
def test_another_context_is_refused(key, keys, asked, sentence):
    with pytest.raises(cose.PacketRefused, match=sentence):
        cose.verify(cose.sign(b"payload", key, CONTEXT), keys, asked)


@pytest.mark.parametrize(
    "members, sentence",
    [
        ([b"", {}, b""], "a header, an open header"),
        ([b"", {}, None, b""], "a header, an open header"),
        ({}, "a header, an open header"),
        ([b"\xff", {}, b"", b""], "cannot be read"),
        ([b"\xa2\x01\x27\x04\x48" + b"k" * 8, {4: b"11"}, b"", b""], "more or less"),
        ([b"\xa2\x01\x27\x04\x47" + b"k" * 7, {}, b"", b""], "more or less"),
        ([b"", {}, b"", b""], "not signed with Ed25519"),
    ],
)
def test_other_shapes_are_refused(members, sentence):
    with pytest.raises(cose.PacketRefused, match=sentence):
        cose.verify(cbor2.dumps(cbor2.CBORTag(18, members)), {}, "")


@pytest.mark.parametrize(
    "data", ["", "01", "d284", "9f01ff", "d2845f41a040ff", "81" * 600, "d8", "c1fb7fefffffffffffff", "d82301"]
)
def test_bytes_that_are_no_envelope_end_in_the_one_refusal(data):
    with pytest.raises(cose.PacketRefused):
        cose.taken_apart(bytes.fromhex(data))


def _members(data: bytes):
    found = cbor2.loads(data)
    return (found.tag, found.value) if isinstance(found, cbor2.CBORTag) else (None, found)


def _p256_holds(example) -> bool:
    """Whether the example's ES256 signature holds over our Sig_structure, for the algorithm its header really names."""
    key = example["input"]["sign0"]["key"]
    x, y = (int.from_bytes(_base64url(key[axis])) for axis in "xy")
    _, (protected, unprotected, payload, signature) = _members(bytes.fromhex(example["output"]["cbor"]))
    header = {**dict(unprotected), **(dict(cbor2.loads(protected)) if protected else {})}
    if header.get(1) != -7:
        return False
    der = encode_dss_signature(int.from_bytes(signature[:32]), int.from_bytes(signature[32:]))
    signed = cose.to_be_signed(protected, bytes.fromhex(example["input"]["sign0"].get("external", "")), payload)
    try:
        ec.EllipticCurvePublicNumbers(x, y, ec.SECP256R1()).public_key().verify(der, signed, ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        return False
    return True


def _base64url(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
