"""What is stored of a PIN: argon2id of RFC 9106 over HMAC-SHA-256 of RFC 2104, at the price the design names."""

import base64
import hashlib
import hmac

from argon2 import extract_parameters
from argon2.low_level import ARGON2_VERSION, Type, core, ffi
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from webapp.gate import verifier

PEPPER = bytes(range(32))


def test_the_library_computes_the_argon2id_vector_of_rfc_9106():
    """RFC 9106, section 5.3: 32 KiB, 3 passes, 4 lanes, password 32 x 01, salt 16 x 02, secret 8 x 03, associated data 12 x 04."""
    tag = bytes.fromhex("0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659")
    out = ffi.new("uint8_t[]", 32)
    parts = [ffi.new("uint8_t[]", part) for part in (b"\x01" * 32, b"\x02" * 16, b"\x03" * 8, b"\x04" * 12)]
    context = ffi.new(
        "argon2_context *",
        dict(
            version=ARGON2_VERSION,
            out=out,
            outlen=32,
            pwd=parts[0],
            pwdlen=32,
            salt=parts[1],
            saltlen=16,
            secret=parts[2],
            secretlen=8,
            ad=parts[3],
            adlen=12,
            t_cost=3,
            m_cost=32,
            lanes=4,
            threads=1,
            allocate_cbk=ffi.NULL,
            free_cbk=ffi.NULL,
            flags=0,
        ),
    )

    assert core(context, Type.ID.value) == 0
    assert bytes(ffi.buffer(out, 32)) == tag


def test_the_pepper_enters_as_the_key_of_an_hmac():
    """RFC 4231, test case 2: key "Jefe", data "what do ya want for nothing?"."""
    assert (
        verifier._peppered(b"Jefe", "what do ya want for nothing?").hex()
        == "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    )


def test_a_pin_is_kept_with_19_mib_2_passes_1_lane(real_cost):
    """The real price: design section 6, as in the OWASP Password Storage Cheat Sheet, Argon2id (19 MiB, t 2, p 1)."""
    made = verifier.make(PEPPER, "739152")
    found = extract_parameters(made)

    assert (found.type, found.version, found.memory_cost, found.time_cost, found.parallelism) == (
        Type.ID,
        19,
        19 * 1024,
        2,
        1,
    )
    assert (found.salt_len, found.hash_len) == (16, 32)
    assert verifier.holds(PEPPER, "739152", made)
    assert not verifier.holds(PEPPER, "739153", made)
    assert not verifier.holds(bytes(32), "739152", made)


def test_r5_an_independent_library_comes_to_the_same_verifier(real_cost):
    """OpenSSL's argon2id, by way of the package cryptography, from the salt in the stored string."""
    made = verifier.make(PEPPER, "739152")
    salt, tag = (base64.b64decode(part + "=" * (-len(part) % 4)) for part in made.split("$")[-2:])
    peppered = hmac.new(PEPPER, b"739152", hashlib.sha256).digest()

    assert Argon2id(salt=salt, length=32, iterations=2, lanes=1, memory_cost=19 * 1024).derive(peppered) == tag


def test_r5_two_people_with_one_pin_have_different_verifiers(quick):
    assert verifier.make(PEPPER, "739152") != verifier.make(PEPPER, "739152")


def test_a_verifier_that_cannot_be_read_holds_for_nobody():
    assert not verifier.holds(PEPPER, "739152", "$argon2id$broken")
