from .infer.data_table import infer_data_table as infer_data_table
from .ledger import FileAccount as FileAccount
from .ledger import Ledger as Ledger
from .ledger import ValueCount as ValueCount
from .read_files import Records as Records
from .read_files import Source as Source
from .read_files import read as read
from .screening import Screening as Screening
