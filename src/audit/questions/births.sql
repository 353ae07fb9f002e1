-- Records by unit and month.
select mode, unit, month, count(*) as n
from births
group by mode, unit, month
order by mode, unit, month
