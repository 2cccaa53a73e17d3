"""What cabins look like from outside: bodies in, answers out."""

from cabins.serializers.setting import SetLogIn, SetLogOut

__all__ = ["SetLogIn", "SetLogOut"]
