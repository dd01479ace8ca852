"""The plan compiled once into flat arrays that every engine reads."""

from linewright.network.compile import compile_network
from linewright.network.model import Network

__all__ = ["Network", "compile_network"]
