import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))  # the small rooms are shared by all tests here
